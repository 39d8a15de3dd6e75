// Pages that were never written, and pages whose bytes stand at another place.

import { withCodes } from '../chip/chip-table.js';
import type { Part } from '../chip/part.js';
import { blockOfPage } from '../chip/write-line.js';
import { type Candidate, candidate } from './candidate.js';
import type { Stretch } from './explanation.js';
import { heldBefore, type Supposed } from './held-before.js';
import type { ReadbackCase } from './readback-case.js';

type PageFate =
  | { readonly page: number; readonly fate: 'missing' }
  | { readonly page: number; readonly fate: 'elsewhere'; readonly of: number };

/** True when the readback's page `page` fits the bytes that `byte` gives for every offset (-1: no evidence). */
const pageIs = (c: ReadbackCase, size: number, page: number, byte: (offset: number) => number): boolean => {
  for (let o = 0; o < size; o++) {
    const wanted = byte(o);
    if (wanted !== -1 && wanted !== c.actual[page * size + o]) return false;
  }
  return true;
};

/** `byte` where the image defines the cell; what it does not define is no evidence. */
const ifDefined = (c: ReadbackCase, a: number, byte: number): number => (c.defined[a] === 1 ? byte : -1);

const wantedAt = (c: ReadbackCase, a: number): number => ifDefined(c, a, c.wanted[a]!);

/** A page whose bytes say enough to be recognised elsewhere: all defined, and not all equal. */
const isTelling = (c: ReadbackCase, size: number, page: number): boolean => {
  let differs = false;
  for (let o = 0; o < size; o++) {
    if (c.defined[page * size + o] !== 1) return false;
    if (c.wanted[page * size + o] !== c.wanted[page * size]) differs = true;
  }
  return differs;
};

/** Pages by their bytes, so that a page found elsewhere costs one look. */
const pagesByBytes = (c: ReadbackCase, size: number): Map<string, number> => {
  const index = new Map<string, number>();
  for (let page = 0; page < c.cells / size; page++)
    if (isTelling(c, size, page)) index.set(c.wanted.subarray(page * size, (page + 1) * size).join(), page);
  return index;
};

const fateOf = (
  c: ReadbackCase,
  size: number,
  page: number,
  before: Supposed,
  byBytes: Map<string, number>,
): PageFate | null => {
  const old = (o: number): number => ifDefined(c, page * size + o, heldBefore(before, page * size + o));
  if (pageIs(c, size, page, old)) return { page, fate: 'missing' };
  const of = byBytes.get(c.actual.subarray(page * size, (page + 1) * size).join());
  return of === undefined || of === page ? null : { page, fate: 'elsewhere', of };
};

const stretch = (page: number, size: number, count = 1): Stretch => ({
  from: page * size,
  to: (page + count) * size - 1,
});

/** Pages, or cells where `size` is 1, as stretches: those side by side are one. */
const stretchesOf = (pages: readonly number[], size: number): Stretch[] => {
  const runs: { from: number; count: number }[] = [];
  for (const page of pages) {
    const last = runs.at(-1);
    if (last !== undefined && last.from + last.count === page) last.count++;
    else runs.push({ from: page, count: 1 });
  }
  return runs.map(({ from, count }) => stretch(from, size, count));
};

/** Where from the first of the missing pages up everything is as it was before, as a burn that stopped early leaves it. */
const stoppedAt = (c: ReadbackCase, first: number, before: Supposed): number | null => {
  for (let a = first; a < c.cells; a++) if (c.defined[a] === 1 && c.actual[a] !== heldBefore(before, a)) return null;
  return first;
};

/** Differing pages of one size, all explained: never written, or with the bytes of another page. Empty when one page is neither. */
const pagesOfSize = (c: ReadbackCase, size: number, before: Supposed, part: Part | null): Candidate[] => {
  const pages = [...new Set(c.differing.map((a) => Math.floor(a / size)))];
  const byBytes = size === 1 ? new Map<string, number>() : pagesByBytes(c, size);
  const fates: PageFate[] = [];
  for (const page of pages) {
    const fate = fateOf(c, size, page, before, byBytes);
    if (fate === null) return [];
    fates.push(fate);
  }
  const prediction = Int16Array.from({ length: c.cells }, (_, a) => wantedAt(c, a));
  for (const f of fates)
    for (let o = 0; o < size; o++) {
      const a = f.page * size + o;
      prediction[a] = f.fate === 'missing' ? ifDefined(c, a, heldBefore(before, a)) : wantedAt(c, f.of * size + o);
    }
  const missing = fates.filter((f) => f.fate === 'missing').map((f) => f.page);
  const moved = fates.flatMap((f) =>
    f.fate === 'elsewhere' ? [{ at: stretch(f.page, size), holds: stretch(f.of, size) }] : [],
  );
  return [
    candidate(
      c,
      {
        kind: moved.length > 0 ? 'pages-elsewhere' : 'pages-missing',
        cost: 1 + Math.min(fates.length, 3),
        cause: {
          is: 'pages',
          size,
          isPartsPage: part !== null,
          missing: stretchesOf(missing, size),
          missingCount: missing.length,
          moved,
          stoppedAt: missing.length > 1 && moved.length === 0 ? stoppedAt(c, missing[0]! * size, before) : null,
          isErased: before === 'erased',
          mayBeProtected: part === null || withCodes(part).length > 0,
        },
      },
      prediction,
    ),
  ].filter((found) => found.fit.exact);
};

/** More such cells are no worn chip any more. */
const refusingMost = 4;

/**
 * A chip without page mode is sent a line of cells one by one, and the first that does not take its byte ends the line. The
 * cells that did not take, with the last cell of what was left out behind each; null where the differing cells tell otherwise.
 */
const refusingCells = (c: ReadbackCase, before: Supposed): { cell: number; last: number }[] | null => {
  const found: { cell: number; last: number }[] = [];
  for (const a of c.differing) {
    const line = found.at(-1);
    if (line !== undefined && a < blockOfPage(1) * (Math.floor(line.cell / blockOfPage(1)) + 1)) {
      if (c.actual[a] !== heldBefore(before, a)) return null;
      line.last = a;
    } else found.push({ cell: a, last: a });
  }
  return found.length > refusingMost || found.every(({ cell, last }) => cell === last) ? null : found;
};

const refusingCandidates = (c: ReadbackCase, before: Supposed, part: Part | null): Candidate[] => {
  if (part !== null && part.pageBytes.value > 1) return [];
  const found = refusingCells(c, before);
  if (found === null) return [];
  const prediction = Int16Array.from({ length: c.cells }, (_, a) => wantedAt(c, a));
  for (const { cell, last } of found)
    for (let a = cell; a <= last; a++)
      prediction[a] = a === cell ? c.actual[a]! : ifDefined(c, a, heldBefore(before, a));
  return [
    candidate(
      c,
      {
        kind: 'pages-missing',
        cost: 1 + found.length,
        cause: {
          is: 'refusing-cells',
          cells: found.map(({ cell }) => cell),
          left: found.filter(({ cell, last }) => last > cell).map(({ cell, last }) => ({ from: cell + 1, to: last })),
          isErased: before === 'erased',
        },
      },
      prediction,
    ),
  ].filter(({ fit }) => fit.exact);
};

/** Tries the part's own page size and single cells, or without a part the usual sizes, the largest that explains everything. */
export const pageCandidates = (c: ReadbackCase, before: Supposed, part: Part | null): Candidate[] => {
  const sizes = part === null ? [256, 128, 64, 32, 16, 1] : [...new Set([part.pageBytes.value, 1])];
  for (const size of sizes.filter((s) => s <= c.cells / 2)) {
    const found = pagesOfSize(c, size, before, part);
    if (found.length > 0) return found;
  }
  return refusingCandidates(c, before, part);
};
