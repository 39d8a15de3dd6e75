import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { blockSize, blocksOf, runAt, stretches } from '../../src/job/blocks.js';
import { cellPart, imageWith, pagePart } from './seated.js';

describe('the blocks of an image', () => {
  it('when a part has pages then a block is a page, else 64 cells', () => {
    expect(blockSize(pagePart)).toBe(64);
    expect(blockSize({ ...pagePart, pageBytes: { ...pagePart.pageBytes, value: 128 } })).toBe(128);
    expect(blockSize(cellPart)).toBe(64);
  });

  it('when the image says something in some blocks then only these are named, with the first and the last such cell', () => {
    const image = imageWith(256, { 5: 1, 9: 2, 130: 3 });
    expect(blocksOf(image, { from: 0, to: 255 }, 64)).toEqual([
      { address: 0, count: 64, from: 5, to: 9, whole: false },
      { address: 128, count: 64, from: 130, to: 130, whole: false },
    ]);
  });

  it('when a block is defined throughout then it is whole, but not where the range cuts it', () => {
    const image = { name: 'x', bytes: new Uint8Array(24), defined: new Uint8Array(24).fill(1) };
    expect(blocksOf(image, { from: 2, to: 20 }, 8)).toEqual([
      { address: 0, count: 8, from: 2, to: 7, whole: false },
      { address: 8, count: 8, from: 8, to: 15, whole: true },
      { address: 16, count: 8, from: 16, to: 20, whole: false },
    ]);
  });

  it('when the range goes beyond the image then what the image has is enough', () => {
    const image = { name: 'x', bytes: new Uint8Array(12), defined: new Uint8Array(12).fill(1) };
    expect(blocksOf(image, { from: 0, to: 1000 }, 8).map((b) => [b.from, b.to, b.whole])).toEqual([
      [0, 7, true],
      [8, 11, false],
    ]);
  });

  it('when any image is cut then each defined cell of the range lies in exactly one block, and nothing is whole that has holes', () => {
    const flags = fc.array(fc.boolean(), { minLength: 1, maxLength: 100 });
    fc.assert(
      fc.property(flags, fc.nat(99), fc.nat(99), fc.constantFrom(1, 4, 16), (defined, a, b, size) => {
        const image = {
          name: 'x',
          bytes: new Uint8Array(defined.length),
          defined: Uint8Array.from(defined, (flag) => (flag ? 1 : 0)),
        };
        const range = { from: Math.min(a, b), to: Math.max(a, b) };
        const asked = (cell: number): boolean => cell >= range.from && cell <= range.to && image.defined[cell] === 1;
        const blocks = blocksOf(image, range, size);
        for (const { address, count, from, to, whole } of blocks) {
          expect([address % size, count, asked(from), asked(to)]).toEqual([0, size, true, true]);
          expect(whole).toBe(Array.from({ length: size }, (_, i) => asked(address + i)).every(Boolean));
        }
        const held = defined.map(
          (_, cell) => blocks.filter((b) => cell >= b.from && cell <= b.to && asked(cell)).length,
        );
        expect(held).toEqual(defined.map((_, cell) => (asked(cell) ? 1 : 0)));
      }),
      { numRuns: 100 },
    );
  });
});

describe('the run that holds a cell', () => {
  it('when a cell is the first or the last of a run then that run holds it, and next to a run none does', () => {
    const runs = [
      { from: 8, bytes: new Uint8Array(4) },
      { from: 12, bytes: new Uint8Array(2) },
      { from: 20, bytes: new Uint8Array(1) },
    ];
    const held = [7, 8, 11, 12, 13, 14, 19, 20, 21].map((cell) => runAt(runs, cell)?.from ?? null);
    expect(held).toEqual([null, 8, 8, 12, 12, null, null, 20, null]);
  });
});

describe('stretches', () => {
  it('when blocks are neighbours then one request reads them, and a gap begins another', () => {
    expect(stretches([0, 8, 24, 40, 48, 56], 8)).toEqual([
      { from: 0, count: 16 },
      { from: 24, count: 8 },
      { from: 40, count: 24 },
    ]);
    expect(stretches([], 8)).toEqual([]);
  });
});
