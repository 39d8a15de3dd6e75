import { expect, it } from 'vitest';
import { type BenchFacts, benchText, faultsDoneText } from '../../src/report/bench-text.js';

const facts: BenchFacts = {
  part: 'AT28C64B',
  maker: 'Atmel',
  cells: 8192,
  pageBytes: 64,
  cycleUs: 10_000,
  protectionOn: false,
  answerDelayMs: 16,
  registers: 2,
  chainReturn: true,
  faults: [],
  violations: 0,
  contents: { crc32: 0xab, cellsNotBlank: 1 },
  wear: { highest: 2, cellsWritten: 64, endurance: 100_000 },
};
const textOf = (more: Partial<BenchFacts>): string => benchText('b.json', { ...facts, ...more });

it('when a bench is shown then chip, contents, wear, protection, registers and faults are told', () => {
  expect(textOf({}).split('\n')).toEqual([
    'b.json: AT28C64B (Atmel), 8 KiB, pages of 64, write cycle 10 ms',
    '  holds: CRC-32 000000AB, 1 cell not FF',
    '  wear: 64 cells written, the most-written one 2 times, endurance 100,000',
    '  protection: off',
    '  address registers: 2; answers 16 ms late',
    '  faults: none',
    '',
  ]);
});

it('when it is built otherwise then that is told', () => {
  expect(textOf({ pageBytes: 1 })).toContain('cell by cell');
  expect(textOf({ protectionOn: true })).toContain('protection: on');
  expect(textOf({ chainReturn: false })).toContain('registers: 2, no chain return;');
  expect(textOf({ faults: ['A4 open', 'weak 0x12F'] })).toContain('faults: A4 open; weak 0x12F');
});

it('when the writer broke rules of the data sheet then they are counted, else nothing is said of them', () => {
  expect(textOf({ violations: 3 })).toMatch(/broken by the writer so far: 3\n$/);
  expect(textOf({})).not.toContain('rules');
});

it('when faults were set then each is told with its effect', () => {
  expect(faultsDoneText([{ fault: 'decayed 0x0C0', effect: 'one bit of 0x0C0 has changed' }])).toBe(
    'Done: decayed 0x0C0 (one bit of 0x0C0 has changed).\n',
  );
});
