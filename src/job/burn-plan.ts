// What a burn will do, found out before anything is written: which blocks differ, what they hold now.
import type { Part } from '../chip/part.js';
import { crc32IsoHdlc } from '../ground/check-sums.js';
import type { Image } from '../image/image.js';
import type { Range } from '../image/range.js';
import type { WriteBlock, Writer } from '../writer/writer.js';
import { type Block, blockSize, blocksOf, type Run, stretches } from './blocks.js';

export interface BurnPlan {
  /** Blocks in which the image says anything inside the range. */
  readonly total: number;
  /** What has to be written; holes between defined cells carry the bytes that are there now. */
  readonly writes: readonly WriteBlock[];
  /** What the cells to be overwritten hold now, for the keep; empty where nothing was read. */
  readonly old: readonly Run[];
  /** Cells in `writes` that differ from what is there, where that is known; else all cells of `writes`. */
  readonly cells: number;
}

export interface BurnPlanOptions {
  readonly range: Range;
  /** Read what is overwritten, so that it can be kept. */
  readonly keep: boolean;
  readonly onRead?: (done: number, total: number) => void;
  readonly signal?: AbortSignal;
}

/** Sums decide about whole blocks; a block with holes can only be judged by reading it. */
async function differingBlocks(
  writer: Writer,
  image: Image,
  blocks: readonly Block[],
  size: number,
  signal: AbortSignal | undefined,
): Promise<Block[]> {
  const whole = stretches(blocks.filter((b) => b.whole));
  const sums = new Map<number, number>();
  for (const { from, count } of whole) {
    const found = await writer.sums(from, count, size, undefined, { signal });
    for (const [index, sum] of found.entries()) sums.set(from + index * size, sum);
  }
  return blocks.filter(
    (b) => !b.whole || sums.get(b.address) !== crc32IsoHdlc(image.bytes.subarray(b.address, b.address + b.count)),
  );
}

/** The part of a block that must be loaded: from the first cell that differs to the last, holes filled with what is there. */
function writeOf(image: Image, block: Block, old: Uint8Array): { write: WriteBlock; cells: number } | null {
  const wanted = old.slice();
  for (let cell = block.from; cell <= block.to; cell += 1)
    if (image.defined[cell] === 1) wanted[cell - block.address] = image.bytes[cell]!;
  let first = -1;
  let last = -1;
  let cells = 0;
  wanted.forEach((byte, index) => {
    if (byte === old[index]) return;
    if (first < 0) first = index;
    last = index;
    cells += 1;
  });
  if (first < 0) return null;
  return { write: { address: block.address + first, bytes: wanted.slice(first, last + 1) }, cells };
}

/**
 * Reads sums of all whole blocks and the bytes of those that differ, all before the first write (a chip in its
 * write cycle cannot be read). Without keep, whole blocks that differ are not read, they are written as they are.
 */
export async function planBurn(writer: Writer, part: Part, image: Image, options: BurnPlanOptions): Promise<BurnPlan> {
  const size = blockSize(part);
  const blocks = blocksOf(image, options.range, size);
  const differing = await differingBlocks(writer, image, blocks, size, options.signal);
  const toRead = differing.filter((b) => options.keep || !b.whole);
  const reads = stretches(toRead);
  const readTotal = reads.reduce((sum, r) => sum + r.count, 0);
  const old: Run[] = [];
  let readDone = 0;
  for (const { from, count } of reads) {
    old.push({
      from,
      bytes: await writer.read(from, count, (done) => options.onRead?.(readDone + done, readTotal), {
        signal: options.signal,
      }),
    });
    readDone += count;
  }
  const bytesAt = new Map<number, Uint8Array>();
  for (const run of old)
    for (let at = 0; at < run.bytes.length; at += size) bytesAt.set(run.from + at, run.bytes.subarray(at, at + size));

  const writes: WriteBlock[] = [];
  const written = new Set<number>();
  let cells = 0;
  for (const block of differing) {
    const before = bytesAt.get(block.address);
    if (before === undefined) {
      writes.push({ address: block.address, bytes: image.bytes.slice(block.address, block.address + block.count) });
      written.add(block.address);
      cells += block.count;
      continue;
    }
    const made = writeOf(image, block, before);
    if (made === null) continue;
    writes.push(made.write);
    written.add(block.address);
    cells += made.cells;
  }
  const kept = stretches(toRead.filter((b) => written.has(b.address))).map(({ from, count }) => {
    const run = old.find((r) => from >= r.from && from < r.from + r.bytes.length)!;
    return { from, bytes: run.bytes.slice(from - run.from, from - run.from + count) };
  });
  return { total: blocks.length, writes, old: kept, cells };
}

/** About how long the writing takes, ms: the chip's own cycles at their longest, which set the pace. */
export const writingMs = (part: Part, plan: BurnPlan): number =>
  ((part.pageBytes.value === 1 ? plan.cells : plan.writes.length) * part.cycleMaxUs.value) / 1000;
