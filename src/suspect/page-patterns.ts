// Pages that were never written, and pages whose bytes stand at another place.

import { withCodes } from '../chip/chip-table.js';
import type { Part } from '../chip/part.js';
import { blockOfPage } from '../chip/write-line.js';
import { addressText, countOf } from '../ground/quantity.js';
import { type Candidate, candidate } from './candidate.js';
import { listWords } from './fault-words.js';
import { type Before, heldBefore } from './held-before.js';
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
  before: Before,
  byBytes: Map<string, number>,
): PageFate | null => {
  const old = (o: number): number => ifDefined(c, page * size + o, heldBefore(before, page * size + o));
  if (pageIs(c, size, page, old)) return { page, fate: 'missing' };
  const of = byBytes.get(c.actual.subarray(page * size, (page + 1) * size).join());
  return of === undefined || of === page ? null : { page, fate: 'elsewhere', of };
};

/** `0x040..0x07F`; one cell alone is its address. */
const rangeOf = (from: number, size: number, cells: number): string =>
  size === 1 ? addressText(from, cells) : `${addressText(from, cells)}..${addressText(from + size - 1, cells)}`;

/** Pages, or cells where `size` is 1, as ranges: those side by side are one range. */
const placesOf = (pages: readonly number[], size: number, cells: number): string[] => {
  const runs: { from: number; count: number }[] = [];
  for (const page of pages) {
    const last = runs.at(-1);
    if (last !== undefined && last.from + last.count === page) last.count++;
    else runs.push({ from: page, count: 1 });
  }
  return runs.map(({ from, count }) => rangeOf(from * size, count * size, cells));
};

const some = (words: readonly string[]): string =>
  words.length <= 4 ? listWords(words) : `${words.slice(0, 3).join(', ')} and ${words.length - 3} more`;

/** A part without protection codes cannot have refused the burn by them. */
const burnAgain = (part: Part | null): string =>
  `Burn again: only what differs is written. If the same places stay wrong, ${part === null || withCodes(part).length > 0 ? '`romkiln unprotect`, then ' : ''}the data lines (\`romkiln rig --empty\`: by D6 and D7 a chip says that it is ready), then another chip.`;

/** From the first of the missing pages up everything is as it was before: so a burn leaves a chip that stopped early. */
const stoppedWords = (c: ReadbackCase, first: number, before: Before): string[] => {
  for (let a = first; a < c.cells; a++) if (c.defined[a] === 1 && c.actual[a] !== heldBefore(before, a)) return [];
  return [
    `Nothing from ${addressText(first, c.cells)} up was written, as where a burn stops early: its last lines, and its line in \`romkiln book\`, say what was tried.`,
  ];
};

/** Differing pages of one size, all explained: never written, or with the bytes of another page. Empty when one page is neither. */
const pagesOfSize = (c: ReadbackCase, size: number, before: Before, part: Part | null): Candidate[] => {
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
  // Without a part nobody knows its pages: the size is that of what differs.
  const noun = size === 1 ? 'cell' : part === null ? 'block' : 'page';
  const missing = fates.filter((f) => f.fate === 'missing').map((f) => f.page);
  const moved = fates.flatMap((f) =>
    f.fate === 'elsewhere'
      ? [`${rangeOf(f.page * size, size, c.cells)} holds ${rangeOf(f.of * size, size, c.cells)}`]
      : [],
  );
  const held = before === null ? 'read FF' : 'hold what they held before';
  const parts = [
    missing.length > 0
      ? `${countOf(missing.length, noun)} ${missing.length === 1 ? 'was' : 'were'} never written and ${missing.length === 1 ? held.replace('read', 'reads').replace('hold', 'holds').replace('they', 'it') : held}: ${some(placesOf(missing, size, c.cells))}`
      : '',
    moved.length > 0
      ? `${countOf(moved.length, noun)} ${moved.length === 1 ? 'holds' : 'hold'} the bytes of another: ${some(moved)}`
      : '',
  ].filter((words) => words !== '');
  const text = `${parts.join('; ')}.`;
  return [
    candidate(
      c,
      {
        kind: moved.length > 0 ? 'pages-elsewhere' : 'pages-missing',
        text: text.charAt(0).toUpperCase() + text.slice(1),
        cost: 1 + Math.min(fates.length, 3),
        evidence: [
          `Every ${noun} that differs is accounted for as a whole${size === 1 ? '' : ` (${noun}s of ${size} bytes)`}.`,
          ...(missing.length > 1 && moved.length === 0 ? stoppedWords(c, missing[0]! * size, before) : []),
        ],
        next: burnAgain(part),
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
const refusingCells = (c: ReadbackCase, before: Before): { cell: number; last: number }[] | null => {
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

const refusingCandidates = (c: ReadbackCase, before: Before, part: Part | null): Candidate[] => {
  if (part !== null && part.pageBytes.value > 1) return [];
  const found = refusingCells(c, before);
  if (found === null) return [];
  const prediction = Int16Array.from({ length: c.cells }, (_, a) => wantedAt(c, a));
  for (const { cell, last } of found)
    for (let a = cell; a <= last; a++)
      prediction[a] = a === cell ? c.actual[a]! : ifDefined(c, a, heldBefore(before, a));
  const cells = listWords(found.map(({ cell }) => addressText(cell, c.cells)));
  const left = found
    .filter(({ cell, last }) => last > cell)
    .map(({ cell, last }) => rangeOf(cell + 1, last - cell, c.cells));
  const [refuse, reads] =
    found.length === 1 ? ['did not take its byte', 'it read'] : ['did not take their bytes', 'they read'];
  return [
    candidate(
      c,
      {
        kind: 'pages-missing',
        text: `${found.length === 1 ? 'Cell' : 'Cells'} ${cells} ${refuse}, which ended ${found.length === 1 ? 'its line' : 'their lines'} of the burn: ${some(left)} ${left.length === 1 && !left[0]!.includes('..') ? 'was' : 'were'} not written any more.`,
        cost: 1 + found.length,
        evidence: [
          `What ${reads} is taken as it is; what was left out ${before === null ? 'reads FF' : 'holds what it held before'}.`,
        ],
        next: `Burn again: only what differs is written. If ${cells} ${found.length === 1 ? 'is' : 'are'} wrong once more the chip is worn there: take another one.`,
      },
      prediction,
    ),
  ].filter(({ fit }) => fit.exact);
};

/** Tries the part's own page size and single cells, or without a part the usual sizes, the largest that explains everything. */
export const pageCandidates = (c: ReadbackCase, before: Before, part: Part | null): Candidate[] => {
  const sizes = part === null ? [256, 128, 64, 32, 16, 1] : [...new Set([part.pageBytes.value, 1])];
  for (const size of sizes.filter((s) => s <= c.cells / 2)) {
    const found = pagesOfSize(c, size, before, part);
    if (found.length > 0) return found;
  }
  return refusingCandidates(c, before, part);
};
