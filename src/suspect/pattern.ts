// How a difference looks that nothing on the list explains, and what helps to know what to do about it. Names no cause.

import type { Part } from '../chip/part.js';
import type { LineName } from '../chip/wiring-fault.js';
import type { Advice, Pattern } from './explanation.js';
import type { ReadbackCase } from './readback-case.js';
import type { Unsteadiness } from './unsteady.js';

const linesIn = (mask: number, letter: 'A' | 'D', count: number): LineName[] =>
  Array.from({ length: count }, (_, i): LineName => `${letter}${i}`).filter((_, i) => (mask >> i) & 1);

/** Address lines that are the same at every differing cell, though not wherever anything was compared. */
const linesInCommon = (c: ReadbackCase): Pick<Pattern, 'high' | 'low'> => {
  let [comparedHigh, comparedLow] = [0, 0];
  for (let a = 0; a < c.cells; a++) {
    if (c.defined[a] !== 1) continue;
    comparedHigh |= a;
    comparedLow |= ~a;
  }
  const varies = (c.cells - 1) & comparedHigh & comparedLow;
  let allHigh = varies;
  let anyHigh = 0;
  for (const a of c.differing) {
    allHigh &= a;
    anyHigh |= a;
  }
  return {
    high: linesIn(allHigh, 'A', c.addressLines),
    low: linesIn(varies & ~anyHigh, 'A', c.addressLines),
  };
};

const bitsInCommon = (c: ReadbackCase): Pick<Pattern, 'lines' | 'always'> => {
  let [raised, lowered] = [0, 0];
  for (const a of c.differing) {
    const diff = c.wanted[a]! ^ c.actual[a]!;
    raised |= diff & c.actual[a]!;
    lowered |= diff & c.wanted[a]!;
  }
  return { lines: linesIn(raised | lowered, 'D', 8), always: lowered === 0 ? 1 : raised === 0 ? 0 : null };
};

/** Differing cells that are named one by one. */
const namedMost = 3;

export const patternOf = (c: ReadbackCase, u: Unsteadiness): Pattern => {
  const [first, last] = [c.differing[0], c.differing.at(-1)];
  return {
    cells: c.differing
      .slice(0, namedMost)
      .map((address) => ({ address, actual: c.actual[address]!, wanted: c.wanted[address]! })),
    within: first === undefined || last === undefined ? null : { from: first, to: last },
    ...linesInCommon(c),
    ...bitsInCommon(c),
    unsteady: u.addresses.length === 0 ? null : { count: u.addresses.length, lines: linesIn(u.bits, 'D', 8) },
  };
};

/** Wrong cells up to which cells are suspected one by one; more have rather a cause in common (our choice, no source). */
const fewMost = 8;

const burnsOf = (c: ReadbackCase, part: Part): Advice['burns'] => {
  const pageBytes = part.pageBytes.value;
  const from = c.differing[0]! - (c.differing[0]! % pageBytes);
  return {
    pageBytes,
    pages: new Set(c.differing.map((a) => Math.floor(a / pageBytes))).size,
    first: { from, to: from + pageBytes - 1 },
  };
};

export const adviceOn = (
  c: ReadbackCase,
  u: Unsteadiness,
  known: {
    readonly passes: number;
    readonly part: Part | null;
    readonly knowsBefore: boolean;
    readonly hasNear: boolean;
  },
): Advice => ({
  trouble: u.addresses.length > 0 ? 'unsteady' : c.differing.length <= fewMost ? 'few' : 'many',
  hasNear: known.hasNear,
  passes: known.passes,
  knowsBefore: known.knowsBefore,
  burns: known.part === null || c.differing.length === 0 ? null : burnsOf(c, known.part),
});
