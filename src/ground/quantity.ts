// Counts and addresses in words, in the one spelling the tool uses.
import { hex } from './byte-text.js';

/** An address with as many digits as the largest one of the chip needs, at least three: 0x07F. */
export const addressText = (address: number, cells: number): string =>
  `0x${hex(address, Math.max(3, hex(cells - 1, 1).length))}`;

/** `1 page`, `3 pages`. */
export const countOf = (count: number, noun: string, plural = `${noun}s`): string =>
  `${count} ${count === 1 ? noun : plural}`;
