// Which line can be which: counts that no permutation changes, narrowed until nothing more follows from them.
import { bitPlanes, levelCounts, lineCounts, popcount } from './bit-planes.js';
import type { ReadbackCase } from './readback-case.js';

/** For each of the reader's address lines and each of the chip's data lines: a mask of the lines it can be at the other end. */
export interface Candidates {
  readonly address: Int32Array;
  readonly data: Int32Array;
}

/** compat[(reader's line * n + chip's line) * 64 + chip's data line * 8 + reader's data line]: the counts of the four lines agree. */
export interface LineEvidence {
  readonly addressLines: number;
  readonly compat: Uint8Array;
}

export const copyOf = (c: Candidates): Candidates => ({ address: c.address.slice(), data: c.data.slice() });

export const only = (mask: number): boolean => (mask & (mask - 1)) === 0;
export const lowest = (mask: number): number => 31 - Math.clz32(mask & -mask);

/** True when `actual` can be `wanted` with up to `missing` more. */
const within = (actual: number, wanted: number, missing: number): boolean =>
  actual >= wanted && actual <= wanted + missing;

export const lineEvidence = (c: ReadbackCase): LineEvidence => {
  const n = c.addressLines;
  const chip = lineCounts(bitPlanes(c.wanted, c.defined, n));
  const reader = lineCounts(bitPlanes(c.actual, new Uint8Array(c.cells).fill(1), n));
  const compat = new Uint8Array(n * n * 64);
  for (let r = 0; r < n; r++)
    for (let l = 0; l < n; l++) {
      const { high, moved, highUndefined, movedUndefined } = chip[l]!;
      for (let j = 0; j < 8; j++)
        for (let k = 0; k < 8; k++)
          compat[(r * n + l) * 64 + j * 8 + k] =
            within(reader[r]!.high[k]!, high[j]!, highUndefined) &&
            within(reader[r]!.moved[k]!, moved[j]!, movedUndefined)
              ? 1
              : 0;
    }
  return { addressLines: n, compat };
};

/** The start: every address line can be every other; data lines are told apart by their counts of ones at each number of set address bits. */
export const firstCandidates = (c: ReadbackCase): Candidates => {
  const n = c.addressLines;
  const chip = levelCounts(c.wanted, c.defined, n);
  const reader = levelCounts(c.actual, new Uint8Array(c.cells).fill(1), n);
  const data = new Int32Array(8);
  for (let j = 0; j < 8; j++)
    for (let k = 0; k < 8; k++) {
      let fits = true;
      for (let level = 0; level <= n && fits; level++)
        fits = within(reader.ones[level * 8 + k]!, chip.ones[level * 8 + j]!, chip.undefinedCells[level]!);
      if (fits) data[j]! |= 1 << k;
    }
  return { address: new Int32Array(n).fill(2 ** n - 1), data };
};

/** Lines that are settled are taken from all others. False when a line has nothing left. */
const allDifferent = (masks: Int32Array): boolean => {
  for (let again = true; again; ) {
    again = false;
    for (let i = 0; i < masks.length; i++) {
      const mask = masks[i]!;
      if (mask === 0) return false;
      if (!only(mask)) continue;
      for (let o = 0; o < masks.length; o++)
        if (o !== i && masks[o]! & mask) {
          masks[o]! &= ~mask;
          again = true;
        }
    }
  }
  return true;
};

/** Narrows in place until nothing changes. False when some line can be none: then no permutation explains the readback. */
export const narrow = (c: Candidates, { addressLines: n, compat }: LineEvidence): boolean => {
  for (let changed = true; changed; ) {
    changed = false;
    for (let r = 0; r < n; r++)
      for (let rest = c.address[r]!; rest !== 0; rest &= rest - 1) {
        const l = lowest(rest);
        if (everyDataLineHasOne(compat, (r * n + l) * 64, c.data)) continue;
        c.address[r]! &= ~(1 << l);
        changed = true;
      }
    for (let j = 0; j < 8; j++)
      for (let rest = c.data[j]!; rest !== 0; rest &= rest - 1) {
        const k = lowest(rest);
        if (everyAddressLineHasOne(compat, n, j * 8 + k, c.address)) continue;
        c.data[j]! &= ~(1 << k);
        changed = true;
      }
    const before = settledCount(c);
    if (!allDifferent(c.address) || !allDifferent(c.data)) return false;
    if (settledCount(c) !== before) changed = true;
  }
  return true;
};

const settledCount = (c: Candidates): number => {
  let bits = 0;
  for (const mask of c.address) bits += popcount(mask);
  for (const mask of c.data) bits += popcount(mask);
  return bits;
};

const everyDataLineHasOne = (compat: Uint8Array, at: number, data: Int32Array): boolean => {
  for (let j = 0; j < 8; j++) {
    let found = false;
    for (let rest = data[j]!; rest !== 0 && !found; rest &= rest - 1) found = compat[at + j * 8 + lowest(rest)] === 1;
    if (!found) return false;
  }
  return true;
};

const everyAddressLineHasOne = (compat: Uint8Array, n: number, at: number, address: Int32Array): boolean => {
  for (let r = 0; r < n; r++) {
    let found = false;
    for (let rest = address[r]!; rest !== 0 && !found; rest &= rest - 1)
      found = compat[(r * n + lowest(rest)) * 64 + at] === 1;
    if (!found) return false;
  }
  return true;
};
