// What a burn sends of an image: of each page the stretch from the first to the last cell that is not right yet, in ascending order.
import { blockOfPage } from '../chip/write-line.js';
import { type Before, heldBefore } from './held-before.js';
import type { ReadbackCase } from './readback-case.js';

/**
 * 1 for every address that a burn sends. `seen`: what an address read before, so that what was right is left alone. `takes`: a cell that was sent this byte reads it back; where it does not, a chip
 * without page mode is sent no more of the block.
 */
export function sentBy(
  c: ReadbackCase,
  before: Before,
  page: number,
  seen: (address: number) => number = (a) => heldBefore(before, a),
  takes: (byte: number) => boolean = () => true,
): Uint8Array {
  const isWrong = (a: number): boolean => c.defined[a] === 1 && c.wanted[a] !== seen(a);
  const sent = new Uint8Array(c.cells);
  const block = blockOfPage(page);
  for (let start = 0; start < c.cells; start += block) {
    let [first, last] = [start, Math.min(start + block, c.cells) - 1];
    while (first <= last && !isWrong(first)) first++;
    while (last > first && !isWrong(last)) last--;
    for (let a = first; a <= last; a++) {
      sent[a] = 1;
      if (page === 1 && !takes(byteSent(c, before, a))) break;
    }
  }
  return sent;
}

/**
 * The same behind an address line that is wrong: what the burn saw at an address was another cell's byte. Of what was read
 * through that line before, and of what the cells truly held, this comes out alike.
 */
export const sentThrough = (
  c: ReadbackCase,
  before: Before,
  page: number,
  through: (address: number) => number,
): Uint8Array => sentBy(c, before, page, (a) => heldBefore(before, through(a)));

/** The byte that is sent: between two cells that are wrong a page is loaded with what it held, which may not be known (-1). */
export const byteSent = (c: ReadbackCase, before: Before, a: number): number => {
  if (c.defined[a] === 1) return c.wanted[a]!;
  return before === null ? -1 : heldBefore(before, a);
};
