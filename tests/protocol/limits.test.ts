// Limits, times and counts, held to firmware-protocol.md.
import { expect, test } from 'vitest';
import {
  firmwareLimits,
  greetingBaud,
  nextSeq,
  protocolCounts,
  protocolTimes,
  protocolVersion,
  windowOf,
} from '../../src/protocol/limits.js';
import { fieldsOfWriter, writerKeys } from '../../src/protocol/writer-line.js';
import { pageText, tableOf } from './protocol-page.js';

test('when the page lists the limits then ours are the same keys, in the same order, with the same values', () => {
  const rows = tableOf('key', 'value (hex)', 'meaning').map(([key, value]) => [key, value]);
  expect(rows.map(([key]) => key)).toEqual(writerKeys);
  const ours = fieldsOfWriter({ ...firmwareLimits, nonce: 0 }).filter((field) => !field.startsWith('nonce='));
  expect(ours).toEqual(rows.filter(([key]) => key !== 'nonce').map(([key, value]) => `${key}=${value}`));
});

test('when the page names version, rate, times and counts then ours are the same', () => {
  const says = (text: string): void => expect(pageText.replace(/\s+/g, ' ')).toContain(text);
  says(`Version of this protocol: **${protocolVersion}**`);
  says(`Both ends start at **${greetingBaud}** baud`);
  says(`leaves the chip alone for ${protocolTimes.quietAfterResetMs} ms`);
  says(`waits up to ${protocolTimes.greetingWaitMs} ms for the greeting`);
  says(`says its search line every ${protocolTimes.searchEveryMs} ms`);
  says(`${protocolTimes.giveUpMs / 1000} s have passed`);
  says(`no good line comes within ${protocolTimes.rateTrialMs} ms`);
  says(`no good line came for ${protocolTimes.idleRateMs / 1000} s`);
  says(`outcome of the last ${protocolCounts.rememberedBlocks} blocks`);
  says(`lines of at most ${protocolCounts.dataBytes.toString(16).toUpperCase()} bytes`);
  says(`up to ${protocolCounts.sumsPerLine} in a line`);
});

test('when numbers are counted then they go from 01 to FF and round again', () => {
  expect(nextSeq(1)).toBe(2);
  expect(nextSeq(0xfe)).toBe(0xff);
  expect(nextSeq(0xff)).toBe(1);
  expect(nextSeq(0)).toBe(1);
});

test('when pages grow then the window is what the block store holds', () => {
  expect([1, 0x10, 0x40, 0x80, 0x100].map((page) => windowOf(firmwareLimits, page))).toEqual([16, 16, 16, 8, 4]);
  // Cell by cell a block is as many cells as the writer announced.
  expect(windowOf({ slots: 16, store: 0x100, cells: 0x40 }, 1)).toBe(4);
  expect(windowOf({ slots: 4, store: 0x20, cells: 0x40 }, 0x40)).toBe(1);
});
