// The words for two images that differ: where, which bits, and what all differences have in common.
import { describe, expect, it } from 'vitest';
import { differenceOf } from '../../src/image/difference.js';
import { imageOfBytes } from '../../src/image/image.js';
import { comparedText, differenceText } from '../../src/report/difference-text.js';

const cells = 2048;
const wanted = imageOfBytes('wanted', new Uint8Array(cells).fill(0x55));

/** What is said of a readback that is wrong at these addresses, each by the same bit. */
function said(addresses: Iterable<number>): string {
  const bytes = wanted.bytes.slice();
  for (const address of addresses) bytes[address] = 0x54;
  return differenceText(differenceOf(wanted, imageOfBytes('actual', bytes)), { cells });
}
const between = (from: number, to: number): number[] => Array.from({ length: to - from + 1 }, (_, i) => from + i);

describe('what all differences have in common', () => {
  it('when all high lines are the same then the stretch of cells is named', () => {
    expect(said(between(0x140, 0x17f))).toContain('All differences lie in 0x140..0x17F.\n');
  });

  it('when single lines are the same then each is named with its level', () => {
    const odd = between(0, cells - 1).filter((a) => (a & 0x40) !== 0 && (a & 0x80) === 0);
    expect(said(odd)).toContain('All differences lie where A6 is high and A7 is low.\n');
  });

  it('when no line is the same then nothing is said of lines', () => {
    expect(said([0, cells - 1])).not.toContain('All differences');
  });

  it('when only one byte differs then its lines say nothing', () => {
    expect(said([0x140])).not.toContain('All differences');
  });
});

describe('the table', () => {
  it('when bytes differ then address, both bytes and the wrong bits are there', () => {
    expect(said([0x12])).toMatch(/^1 byte of 2048 differs, in 1 run:\n.*\n0x012 +55 +54 +D0\n/);
    expect(said([0x12])).toMatch(/\nD0 +1 +0 +1\n/);
  });

  it('when there are more runs than fit then the rest is counted', () => {
    expect(said(between(0, 39).filter((a) => a % 2 === 0))).toContain('... and 4 more runs; --json lists them all.\n');
  });

  it('when nothing differs then nothing is said', () => {
    expect(said([])).toBe('');
  });
});

describe('runs and cells', () => {
  const lines = (text: string): string[] => text.trimEnd().split('\n');
  /** 256 cells of 00, and the same with these bytes. */
  const difference = (changes: readonly (readonly [number, number])[]) => {
    const bytes = new Uint8Array(256);
    for (const [cell, byte] of changes) bytes[cell] = byte;
    return differenceOf(imageOfBytes('wanted', new Uint8Array(256)), bytes);
  };

  it('when neighbours differ then they are one run with both its ends, cut after eight bytes', () => {
    const nine = between(0x20, 0x28).map((cell) => [cell, cell - 0x10] as const);
    const text = lines(differenceText(difference([...nine, [0x40, 1]]), { cells: 256 }));
    expect(text[0]).toBe('10 bytes of 256 differ, in 2 runs:');
    expect(text[2]).toMatch(/^0x020\.\.0x028 +(00 ){8}\.\.\. +10 11 12 13 14 15 16 17 \.\.\. +D0 D1 D2 D3 D4$/);
    expect(text[3]).toMatch(/^0x040 +00 +01 +D0$/);
  });

  it('when the plan is known then each cell is told in its words, and not more than eight', () => {
    const told = (address: number, from: number, to: number): string => `cell ${address}\n${from} is ${to}`;
    const two = difference([
      [1, 7],
      [0x20, 3],
    ]);
    const text = lines(differenceText(two, { cells: 256, describe: told }));
    expect(text.slice(-4)).toEqual(['0x001: cell 1', '    0 is 7', '0x020: cell 32', '    0 is 3']);
    const twelve = difference(between(0, 11).map((cell) => [cell, 1] as const));
    const cut = lines(differenceText(twelve, { cells: 256, describe: () => 'x' }));
    expect(cut.slice(-2)).toEqual(['0x007: x', '... and more.']);
  });
});

describe('what was compared', () => {
  it('when cells are undefined or missing then they are counted apart', () => {
    const half = { ...wanted, defined: wanted.defined.map((_, i) => (i < 1024 ? 1 : 0)) };
    const short = imageOfBytes('short', new Uint8Array(1000).fill(0x55));
    expect(comparedText(differenceOf(half, short))).toBe(
      '1000 bytes compared, 1024 not defined by the wanted image, so not compared, 24 wanted but missing.',
    );
  });
});
