// Grids of output values: their order, what is not defined, and how large they may be.
import { describe, expect, it } from 'vitest';
import { complaints } from '../../src/plan/complaints.js';
import {
  bitsOf,
  mostValues,
  settingOf,
  tooLarge,
  tooWide,
  ValueGrid,
  widestInputs,
} from '../../src/plan/value-grid.js';

const widths = (...bits: readonly number[]): Map<string, number> => new Map(bits.map((b, i) => [`field-${i}`, b]));

describe('a grid', () => {
  const grid = new ValueGrid(widths(2, 3), widths(1, 31));

  it('when settings are counted then the first input counts slowest, both ways', () => {
    expect(grid.size).toBe(32);
    expect(grid.indexOf([0, 7])).toBe(7);
    expect(grid.indexOf([1, 0])).toBe(8);
    expect(grid.indexOf([3, 5])).toBe(29);
    expect(grid.indexOf([3])).toBe(24);
    for (let index = 0; index < grid.size; index++) expect(grid.indexOf(grid.settingOf(index))).toBe(index);
    expect(settingOf([2, 3], 29)).toEqual([3, 5]);
    expect(settingOf([], 0)).toEqual([]);
  });

  it('when nothing was said of a cell then its values are undefined, each for itself', () => {
    expect(grid.at(3)).toEqual([undefined, undefined]);
    grid.column(1)[3] = 2 ** 31 - 1;
    expect(grid.at(3)).toEqual([undefined, 2 ** 31 - 1]);
    grid.column(0)[3] = 0;
    expect(grid.at(3)).toEqual([0, 2 ** 31 - 1]);
    expect(grid.at(4)).toEqual([undefined, undefined]);
  });
});

describe('how large a grid may be', () => {
  it('when inputs are as wide as can be worked with then nothing is said, and one bit more is too much', () => {
    const said = complaints();
    expect(bitsOf(widths(9, 11))).toBe(widestInputs);
    expect(tooWide([9, 11], said)).toBe(false);
    expect(said.findings).toEqual([]);
    expect(tooWide([10, 11], said)).toBe(true);
    expect(said.findings).toMatchObject([
      {
        code: 'contents.too-wide',
        message: 'The fields of these contents are 21 bits wide together.',
        why: 'At most 20 bits can be worked with; the largest chips have 19 address lines.',
        path: [],
      },
    ]);
  });

  it('when outputs are as many as a set of chips holds then nothing is said, and one more is too much', () => {
    const said = complaints();
    const most = mostValues / 2 ** 20;
    const outputs = (count: number): Map<string, number> => widths(...new Array<number>(count).fill(1));
    expect(tooLarge(widths(20), outputs(most), said)).toBe(false);
    expect(said.findings).toEqual([]);
    expect(tooLarge(widths(20), outputs(most + 1), said)).toBe(true);
    expect(said.findings).toMatchObject([
      {
        code: 'contents.too-wide',
        message: `These contents have ${most + 1} outputs.`,
        why: `With 20 bits of fields at most ${most} outputs can be worked with.`,
        path: ['outputs'],
      },
    ]);
    expect(tooLarge(widths(21), outputs(1), said)).toBe(true);
    expect(said.findings).toHaveLength(2);
  });
});
