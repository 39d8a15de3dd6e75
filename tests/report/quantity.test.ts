import { expect, it } from 'vitest';
import { addressText, byteText, countOf, sizeText, timeText } from '../../src/report/quantity.js';

it.each([
  [0, '0 us'],
  [999, '999 us'],
  [1000, '1 ms'],
  [1530, '1.53 ms'],
  [999_000, '999 ms'],
  [1_000_000, '1 s'],
  [1_638_400, '1.64 s'],
  [83_900_000, '83.9 s'],
])('when a time has %i us then it is told as %s', (us, text) => {
  expect(timeText(us)).toBe(text);
});

it.each([
  [2048, '2 KiB'],
  [524_288, '512 KiB'],
  [1000, '1000 bytes'],
  [1024, '1 KiB'],
])('when %i cells are told then as %s', (cells, text) => {
  expect(sizeText(cells)).toBe(text);
});

it('when things are counted then one is in the singular', () => {
  expect([0, 1, 2].map((n) => countOf(n, 'byte'))).toEqual(['0 bytes', '1 byte', '2 bytes']);
});

it('when bytes and addresses are told then with all their digits', () => {
  expect([byteText(0), byteText(0xa2)]).toEqual(['00', 'A2']);
  expect([addressText(5, 2048), addressText(5, 32768), addressText(0x7ff, 2048)]).toEqual(['0x005', '0x0005', '0x7FF']);
});
