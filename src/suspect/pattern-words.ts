// The simplest description of a difference that nothing on the list explains.

import { hex } from '../ground/byte-text.js';
import { addressText, countOf } from '../ground/quantity.js';
import { listWords } from './fault-words.js';
import type { ReadbackCase } from './readback-case.js';
import type { Unsteadiness } from './unsteady.js';

const linesIn = (mask: number, letter: 'A' | 'D', count: number): string[] =>
  Array.from({ length: count }, (_, i) => i)
    .filter((i) => (mask >> i) & 1)
    .map((i) => `${letter}${i}`);

/** "only where A3 is high and A7 is low": the address lines that are the same at every differing address. */
const whereWords = (c: ReadbackCase): string => {
  // A line that is the same wherever anything was compared tells nothing.
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
  const conditions = [
    ...linesIn(allHigh, 'A', c.addressLines).map((line) => `${line} is high`),
    ...linesIn(varies & ~anyHigh, 'A', c.addressLines).map((line) => `${line} is low`),
  ];
  if (conditions.length === 0) return 'with no address line in common';
  return conditions.length <= 4 ? `only where ${listWords(conditions)}` : 'close together';
};

const bitWords = (c: ReadbackCase): string => {
  let wrong = 0;
  let raised = 0;
  let lowered = 0;
  for (const a of c.differing) {
    const diff = c.wanted[a]! ^ c.actual[a]!;
    wrong |= diff;
    raised |= diff & c.actual[a]!;
    lowered |= diff & c.wanted[a]!;
  }
  const lines = linesIn(wrong, 'D', 8);
  const direction = lowered === 0 ? ', always 1 for 0' : raised === 0 ? ', always 0 for 1' : ', in both directions';
  return `${lines.length === 8 ? 'all data lines' : `only ${listWords(lines)}`}${direction}`;
};

/** One or two sentences; names no cause. */
export const patternWords = (c: ReadbackCase, u: Unsteadiness): string => {
  const { differing } = c;
  const unsteady =
    u.addresses.length === 0
      ? ''
      : ` ${countOf(u.addresses.length, 'address', 'addresses')} did not read the same in every pass, in ${listWords(linesIn(u.bits, 'D', 8))}.`;
  if (differing.length === 0) return `None of these.${unsteady}`;
  if (differing.length <= 3) {
    const each = differing.map((a) => `${addressText(a, c.cells)} reads ${hex(c.actual[a]!)} for ${hex(c.wanted[a]!)}`);
    return `None of these: ${countOf(differing.length, 'cell')} of ${c.compared} ${differing.length === 1 ? 'differs' : 'differ'} (${each.join(', ')}).${unsteady}`;
  }
  const range = `between ${addressText(differing[0]!, c.cells)} and ${addressText(differing[differing.length - 1]!, c.cells)}`;
  return `None of these: ${countOf(differing.length, 'cell')} of ${c.compared} differ, ${range}, ${whereWords(c)}; ${bitWords(c)}.${unsteady}`;
};
