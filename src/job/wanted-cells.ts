// What cells must hold in the end, and what has to be loaded so that they do.
import type { Image } from '../image/image.js';
import type { Range } from '../image/range.js';
import type { WriteBlock } from '../writer/writer.js';
import type { Run } from './blocks.js';

/** A block to write, and which of its cells will change; all of them where what is there is not known. */
export interface PlannedWrite extends WriteBlock {
  readonly changes: readonly number[];
}

/** The image says something of this cell, inside the range. */
export const isAsked = (image: Image, range: Range, cell: number): boolean =>
  cell >= range.from && cell <= range.to && image.defined[cell] === 1;

/** The image where it says something inside the range, else what is there now. */
export const wantedCells = (image: Image, range: Range, { from, bytes }: Run): Run => ({
  from,
  bytes: bytes.map((byte, i) => (isAsked(image, range, from + i) ? image.bytes[from + i]! : byte)),
});

/** What must be loaded, from the first cell that changes to the last; null where all cells are as wanted. */
export function neededWrite({ from, bytes: wanted }: Run, actual: Uint8Array): PlannedWrite | null {
  const changes = [...wanted.keys()].filter((i) => wanted[i] !== actual[i]);
  const [first, last] = [changes[0], changes.at(-1)];
  if (first === undefined || last === undefined) return null;
  return { address: from + first, bytes: wanted.slice(first, last + 1), changes: changes.map((i) => from + i) };
}
