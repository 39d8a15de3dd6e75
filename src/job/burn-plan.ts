// What a burn will do, found out before anything is written: which blocks differ, what they hold now.
import type { Part } from '../chip/part.js';
import { crc32IsoHdlc } from '../ground/check-sums.js';
import type { Image } from '../image/image.js';
import type { Range } from '../image/range.js';
import { requireRoomForBlock } from '../writer/announced-limits.js';
import type { Writer } from '../writer/writer.js';
import { sumsOfBlocks } from './block-sums.js';
import { type Block, blockSize, blocksOf, type Run, runAt, stretches } from './blocks.js';
import { type Reading, readRuns } from './read-runs.js';
import { neededWrite, type PlannedWrite, wantedCells } from './wanted-cells.js';

export type { PlannedWrite };

export interface BurnPlan {
  /** Blocks in which the image says anything inside the range. */
  readonly total: number;
  /** What has to be written; holes between defined cells carry the bytes that are there now. */
  readonly writes: readonly PlannedWrite[];
  /** What the cells to be overwritten hold now, for the keep; empty where nothing was read. */
  readonly old: readonly Run[];
  /** What was read of blocks that the image does not fill, written or not: their other cells must stay as they are. */
  readonly seen: readonly Run[];
  /** Cells that will change. */
  readonly cells: number;
}

export interface BurnPlanOptions extends Reading {
  readonly range: Range;
  /** Read what is overwritten, so that it can be kept. */
  readonly keep: boolean;
  /** Read the whole chip, where codes go along that a chip could take as data anywhere. */
  readonly everything?: boolean;
}

const startsOf = (blocks: readonly Block[]): number[] => blocks.map((b) => b.address);

/** Sums decide about whole blocks; a block with holes can only be judged by reading it. */
async function differingBlocks(
  writer: Writer,
  image: Image,
  blocks: readonly Block[],
  size: number,
  signal: AbortSignal | undefined,
): Promise<Block[]> {
  const sums = await sumsOfBlocks(writer, startsOf(blocks.filter((b) => b.whole)), size, signal);
  return blocks.filter(
    (b) => !b.whole || sums.get(b.address) !== crc32IsoHdlc(image.bytes.subarray(b.address, b.address + b.count)),
  );
}

/** A block written as the image has it, where nobody looked at what is there. */
const wholeWrite = (image: Image, { address, count }: Block): PlannedWrite => ({
  address,
  bytes: image.bytes.slice(address, address + count),
  changes: Array.from({ length: count }, (_, i) => address + i),
});

/**
 * Reads sums of all whole blocks and the bytes of those that differ, all before the first write (a chip in its
 * write cycle cannot be read). Throws writer.limit where the writer cannot take the blocks. Without keep, whole blocks that differ are not read, they are written as they are.
 */
export async function planBurn(writer: Writer, part: Part, image: Image, options: BurnPlanOptions): Promise<BurnPlan> {
  const size = blockSize(part);
  requireRoomForBlock(writer.introduction, part.pageBytes.value, size);
  const blocks = blocksOf(image, options.range, size);
  const differing = await differingBlocks(writer, image, blocks, size, options.signal);
  const toRead = differing.filter((b) => options.keep || !b.whole);
  const reads =
    options.everything && differing.length > 0 ? [{ from: 0, count: part.cells }] : stretches(startsOf(toRead), size);
  const old = await readRuns(writer, reads, options);
  const oldOf = ({ address, count }: Block): Run | null => {
    const run = runAt(old, address);
    return run ? { from: address, bytes: run.bytes.slice(address - run.from, address - run.from + count) } : null;
  };

  const writes: PlannedWrite[] = [];
  const written = new Set<number>();
  for (const block of differing) {
    const before = oldOf(block);
    const write = before
      ? neededWrite(wantedCells(image, options.range, before), before.bytes)
      : wholeWrite(image, block);
    if (write === null) continue;
    writes.push(write);
    written.add(block.address);
  }
  const touched = startsOf(toRead.filter((b) => written.has(b.address)));
  const overwritten = stretches(touched, size).map(({ from, count }) => {
    const run = runAt(old, from)!;
    return { from, bytes: run.bytes.slice(from - run.from, from - run.from + count) };
  });
  const cells = writes.reduce((sum, w) => sum + w.changes.length, 0);
  const kept = options.everything && writes.length > 0 ? old : overwritten;
  return { total: blocks.length, writes, old: kept, seen: old, cells };
}

/** About how long the writing takes, ms: the chip's own cycles at their longest, which set the pace. */
export const writingMs = (part: Part, plan: BurnPlan): number =>
  ((part.pageBytes.value === 1 ? plan.cells : plan.writes.length) * part.cycleMaxUs.value) / 1000;
