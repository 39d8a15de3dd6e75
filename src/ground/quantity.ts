// Counts, addresses and lists in words, in the one spelling the tool uses.
import { hex } from './byte-text.js';

/** An address with as many digits as the largest one of the chip needs, at least three: 0x07F. */
export const addressText = (address: number, cells: number): string =>
  `0x${hex(address, Math.max(3, hex(cells - 1, 1).length))}`;

const lists = new Map<string, Intl.ListFormat>();

/** `A4`, `A4 and A7`, `A4, A5 and A7`; with `or` between the last two where that is asked for. */
export function listText(words: readonly string[], last: 'and' | 'or' = 'and'): string {
  // Made with the first list: Node reads its tables of languages for it, a tenth of the start-up (measured).
  const list =
    lists.get(last) ?? new Intl.ListFormat('en-GB', { type: last === 'and' ? 'conjunction' : 'disjunction' });
  lists.set(last, list);
  return list.format(words);
}

/** `1 page`, `3 pages`. */
export const countOf = (count: number, noun: string, plural = `${noun}s`): string =>
  `${count} ${count === 1 ? noun : plural}`;
