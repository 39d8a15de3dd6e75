import { expect, it } from 'vitest';
import type { KeptRecord } from '../../src/job/keep.js';
import { keptListText, keptText } from '../../src/report/keep-text.js';

const record = {
  id: '20260102-abc',
  time: '2026-01-02T03:04:05Z',
  chip: 'AT28C64B',
  label: 'U7',
  port: '/dev/ttyUSB0',
  image: 'a.hex',
  runs: [
    { from: 0x40, count: 3 },
    { from: 0x1f0, count: 9 },
  ],
} as unknown as KeptRecord;
const runs = [
  { from: 0x40, bytes: Uint8Array.of(1, 2, 3) },
  { from: 0x1f0, bytes: new Uint8Array(9).fill(0xab) },
];

it('when a record is listed then with its id, time, chip, label, bytes, port and image', () => {
  const [, row] = keptListText([record], []).split('\n');
  expect(row!.split(/ {2,}/)).toEqual([
    ...['20260102-abc', '2026-01-02 03:04', 'AT28C64B', 'U7'],
    ...['12', '/dev/ttyUSB0', 'a.hex'],
  ]);
});

it('when a record has no label then a dash stands there', () => {
  const [, row] = keptListText([{ ...record, label: null }], []).split('\n');
  expect(row!.split(/ {2,}/)[3]).toBe('-');
});

it('when a file of the keep is damaged then it is named before the others, and nothing of it is shown raw', () => {
  const text = keptListText([record], ['records/odd\x1b.json']);
  expect(text.split('\n')[0]).toMatch(/records\/odd.*\.json/);
  expect(text).not.toContain('\x1b');
  expect(text).toContain('20260102-abc');
});

it('when a record is shown then each run has its two ends, its count, its check sum and its first eight bytes', () => {
  const rows = keptText(record, runs, null)
    .split('\n')
    .map((line) => line.split(/ {2,}/));
  // CRC-32/ISO-HDLC of 01 02 03 is 55BC801D (common practice: zlib's crc32 gives it, too).
  expect(rows[2]).toEqual(['0x0040..0x0042', '3', '55BC801D', '01 02 03']);
  expect(rows[3]?.[0]).toBe('0x01F0..0x01F8');
  expect(rows[3]?.[3]).toBe(`${'AB '.repeat(8)}...`);
});

it('when a record is shown then the way back is said, and the file where one was written', () => {
  expect(keptText(record, runs, null)).toContain('romkiln restore 20260102-abc');
  expect(keptText(record, runs, null)).not.toContain('old.bin');
  expect(keptText(record, runs, 'old.bin')).toContain('old.bin');
});
