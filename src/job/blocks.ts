// An image cut into what one write line carries: a page, or 64 cells of a chip without page mode.
import type { Part } from '../chip/part.js';
import { blockOfPage } from '../chip/write-line.js';
import type { Image } from '../image/image.js';
import { joinRanges, type Range } from '../image/range.js';

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

/** The run that holds a cell. */
export const runAt = (runs: readonly Run[], cell: number): Run | undefined =>
  runs.find((run) => cell >= run.from && cell < run.from + run.bytes.length);

export const blockSize = (part: Part): number => blockOfPage(part.pageBytes.value);

/** First cell of the block that holds a cell. */
export const blockStart = (cell: number, size: number): number => cell - (cell % size);

/** The cells of these blocks, given by their first cells in rising order; neighbours are joined. */
export const rangesOfBlocks = (starts: readonly number[], size: number): Range[] =>
  joinRanges(starts.map((from) => ({ from, to: from + size - 1 })));

/** The blocks in which the image defines at least one cell inside the range (inclusive), in order of address. */
export function blocksOf(image: Image, range: Range, size: number): Block[] {
  const blocks: Block[] = [];
  const end = Math.min(range.to, image.bytes.length - 1);
  for (let address = blockStart(range.from, size); address <= end; address += size) {
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
export const stretches = (starts: readonly number[], size: number): { from: number; count: number }[] =>
  rangesOfBlocks(starts, size).map(({ from, to }) => ({ from, count: to - from + 1 }));
