// An image cut into what one write line carries: a page, or 64 cells of a chip without page mode.
import type { Part } from '../chip/part.js';
import type { Image } from '../image/image.js';
import type { Range } from '../image/range.js';

/** Cells of one write line where the chip has no page mode (the writer's announced limit is at least this). */
const cellsOfBlock = 64;

export interface Block {
  /** First cell, a multiple of the block size. */
  readonly address: number;
  /** Cells: the block size. */
  readonly count: number;
  /** The cells that the image defines inside the range, first and last. */
  readonly from: number;
  readonly to: number;
  /** Every cell of the block is defined and in the range, so that its sum alone tells whether it is right. */
  readonly whole: boolean;
}

/** A run of cells with the bytes that were read from them. */
export interface Run {
  readonly from: number;
  readonly bytes: Uint8Array;
}

export const blockSize = (part: Part): number => (part.pageBytes.value === 1 ? cellsOfBlock : part.pageBytes.value);

/** The blocks in which the image defines at least one cell inside the range (inclusive), in order of address. */
export function blocksOf(image: Image, range: Range, size: number): Block[] {
  const blocks: Block[] = [];
  const end = Math.min(range.to, image.bytes.length - 1);
  for (let address = range.from - (range.from % size); address <= end; address += size) {
    let from = -1;
    let to = -1;
    let definedCount = 0;
    for (let cell = Math.max(address, range.from); cell <= Math.min(address + size - 1, end); cell += 1) {
      if (image.defined[cell] !== 1) continue;
      if (from < 0) from = cell;
      to = cell;
      definedCount += 1;
    }
    if (definedCount > 0) blocks.push({ address, count: size, from, to, whole: definedCount === size });
  }
  return blocks;
}

/** Neighbouring blocks joined, so that one request reads each stretch: [from, count] pairs. */
export function stretches(blocks: readonly Block[]): { from: number; count: number }[] {
  const joined: { from: number; count: number }[] = [];
  for (const block of blocks) {
    const last = joined.at(-1);
    if (last && last.from + last.count === block.address) last.count += block.count;
    else joined.push({ from: block.address, count: block.count });
  }
  return joined;
}
