// A stretch of cells, both ends included, as people write it: 0x100..0x1FF.
import { printable } from '../ground/byte-text.js';
import { ToolError } from '../ground/errors.js';
import { addressText } from '../ground/quantity.js';
import type { Image } from './image.js';

/** Addresses `from` to `to`, both included. */
export interface Range {
  readonly from: number;
  readonly to: number;
}

/** All cells of a chip or an image. */
export const wholeRange = (cells: number): Range => ({ from: 0, to: cells - 1 });

/** A range as it is read: `0x100..0x1FF`. */
export const spellRange = ({ from, to }: Range): string => `${addressText(from, to + 1)}..${addressText(to, to + 1)}`;

/** Hexadecimal with 0x, or decimal; null for anything else. Eight digits are more than any address has. */
function addressOf(text: string): number | null {
  return /^(?:0x[0-9a-f]{1,8}|\d{1,9})$/i.test(text) ? Number(text) : null;
}

/**
 * Reads `0x100..0x1FF` (hexadecimal or decimal, both ends included; one address alone is a range of one cell).
 * With `cells` the range must lie inside a chip of that size. Throws image.range.
 */
export function parseRange(text: string, cells?: number): Range {
  const fail = (problem: string): never => {
    throw new ToolError('image.range', { text: printable(text.slice(0, 60)), problem });
  };
  const ends = text.trim().split('..');
  if (ends.length > 2) return fail('it has more than two ends');
  const [from, to] = ends.map(
    (end) => addressOf(end.trim()) ?? fail(`"${printable(end.slice(0, 20))}" is not an address`),
  );
  const range = { from: from!, to: to ?? from! };
  if (range.from > range.to) return fail('its end lies before its beginning');
  if (cells !== undefined && range.to >= cells) return fail(`the last cell is ${addressText(cells - 1, cells)}`);
  return range;
}

/** Ranges in rising order, with those that touch or overlap each other joined. */
export function joinRanges(ranges: Iterable<Range>): Range[] {
  const joined: { from: number; to: number }[] = [];
  for (const { from, to } of ranges) {
    const last = joined.at(-1);
    if (last && from <= last.to + 1) last.to = Math.max(last.to, to);
    else joined.push({ from, to });
  }
  return joined;
}

/** The cells of a range as an image of their own: cell 0 of the result is cell `range.from`. Cells beyond the image are left out. */
export const sliceRange = (image: Image, range: Range): Image => ({
  name: image.name,
  bytes: image.bytes.slice(range.from, range.to + 1),
  defined: image.defined.slice(range.from, range.to + 1),
});
