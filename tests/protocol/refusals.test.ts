// The table of refusals, held row by row to firmware-protocol.md section 5.
import { expect, test } from 'vitest';
import { hex } from '../../src/ground/byte-text.js';
import { refusalNumber, refusalRow, refusals } from '../../src/protocol/refusals.js';
import { tableOf } from './protocol-page.js';

test('when the page lists a refusal then the table says the same in every column', () => {
  const ours = refusals.map((row) => [hex(row.number, 1), row.name, row.fields.join(' '), row.meaning, row.host]);
  expect(ours).toEqual(tableOf('number', 'name', 'fields', 'meaning', 'the host'));
});

test('when a refusal is looked up by number then its row comes, and none for an unknown number', () => {
  expect(refusalRow(0xc)?.name).toBe('mismatch');
  expect(refusalRow(0)).toBeUndefined();
  expect(refusalRow(0x11)).toBeUndefined();
});

test('when a refusal is named in code then the name is its own', () => {
  const named = Object.entries(refusalNumber).map(([word, number]) => [
    number,
    word.replace(/[A-Z]/g, (letter) => `-${letter.toLowerCase()}`),
  ]);
  expect(named).toEqual(refusals.map((row) => [row.number, row.name]));
});
