import { describe, expect, it } from 'vitest';
import { definedCount, definedRuns, gapsOf } from '../../src/image/defined-runs.js';
import { type Image, imageOfBytes, imageOfRuns } from '../../src/image/image.js';
import { joinRanges } from '../../src/image/range.js';

const defining = (...flags: readonly number[]): Image => ({
  name: 'a',
  bytes: new Uint8Array(flags.length),
  defined: Uint8Array.from(flags),
});

describe('where an image says something', () => {
  it.each([
    [[], [], []],
    [[0, 0], [], []],
    [[1, 1], [[0, 1]], []],
    [[0, 1, 1, 0], [[1, 2]], []],
    [
      [1, 0, 1],
      [
        [0, 0],
        [2, 2],
      ],
      [[1, 1]],
    ],
    [
      [0, 1, 0, 0, 1, 1, 0, 1, 0],
      [
        [1, 1],
        [4, 5],
        [7, 7],
      ],
      [
        [2, 3],
        [6, 6],
      ],
    ],
  ])('when the flags are %j, then runs and the gaps between them are named', (flags, runs, gaps) => {
    const image = defining(...flags);
    expect(definedRuns(image).map((r) => [r.from, r.to])).toEqual(runs);
    expect(gapsOf(image).map((r) => [r.from, r.to])).toEqual(gaps);
    expect(definedCount(image)).toBe(flags.filter((flag) => flag === 1).length);
  });
});

describe('ranges', () => {
  it('when they touch, then they are joined, and a cell between keeps them apart', () => {
    const ranges = [
      { from: 0, to: 3 },
      { from: 4, to: 4 },
      { from: 6, to: 7 },
    ];
    expect(joinRanges(ranges)).toEqual([
      { from: 0, to: 4 },
      { from: 6, to: 7 },
    ]);
    expect(joinRanges([])).toEqual([]);
    const [wide, within, beyond] = [
      { from: 0, to: 9 },
      { from: 2, to: 4 },
      { from: 5, to: 11 },
    ];
    expect(joinRanges([wide!, within!, beyond!])).toEqual([{ from: 0, to: 11 }]);
  });
});

describe('an image made of bytes', () => {
  it('when all bytes are given, then all are defined', () => {
    expect(imageOfBytes('a', Uint8Array.of(7, 8))).toEqual({
      name: 'a',
      bytes: Uint8Array.of(7, 8),
      defined: Uint8Array.of(1, 1),
    });
  });

  it('when runs are given, then these cells are defined and no other, and a later run wins', () => {
    const runs = [
      { from: 1, bytes: Uint8Array.of(7, 8) },
      { from: 2, bytes: Uint8Array.of(9) },
      { from: 5, bytes: Uint8Array.of(4) },
    ];
    const { bytes, defined } = imageOfRuns('a', 6, runs);
    expect([...defined]).toEqual([0, 1, 1, 0, 0, 1]);
    expect([bytes[1], bytes[2], bytes[5]]).toEqual([7, 9, 4]);
  });
});
