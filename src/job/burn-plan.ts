// What a burn will do, found out before anything is written: which blocks differ, what they hold now.
import type { Part } from '../chip/part.js';
import { crc32IsoHdlc } from '../ground/check-sums.js';
import type { Image } from '../image/image.js';
import type { Range } from '../image/range.js';
import type { WriteBlock, Writer } from '../writer/writer.js';
import { type Block, blockSize, blocksOf, type Run, stretches } from './blocks.js';

/** A block to write, and which of its cells will change; all of them where what is there is not known. */
export interface PlannedWrite extends WriteBlock {
  readonly changes: readonly number[];
}

export interface BurnPlan {
  /** Blocks in which the image says anything inside the range. */
  readonly total: number;
  /** What has to be written; holes between defined cells carry the bytes that are there now. */
  readonly writes: readonly PlannedWrite[];
  /** What the cells to be overwritten hold now, for the keep; empty where nothing was read. */
  readonly old: readonly Run[];
  /** Cells that will change. */
  readonly cells: number;
}

export interface BurnPlanOptions {
  readonly range: Range;
  /** Read what is overwritten, so that it can be kept. */
  readonly keep: boolean;
  /** Read the whole chip, where codes go along that a chip could take as data anywhere. */
  readonly everything?: boolean;
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

/** A block written as the image has it, where nobody looked at what is there. */
const wholeWrite = (image: Image, { address, count }: Block): PlannedWrite => ({
  address,
  bytes: image.bytes.slice(address, address + count),
  changes: Array.from({ length: count }, (_, i) => address + i),
});

/** The part of a block that must be loaded: from the first cell that changes to the last, what lies between as it is wanted or as it is. */
function neededWrite(image: Image, block: Block, old: Uint8Array): PlannedWrite | null {
  const wanted = old.slice();
  const changes: number[] = [];
  for (let cell = block.from; cell <= block.to; cell += 1) {
    const index = cell - block.address;
    if (image.defined[cell] !== 1 || image.bytes[cell] === old[index]) continue;
    wanted[index] = image.bytes[cell]!;
    changes.push(cell);
  }
  const first = changes[0];
  const last = changes.at(-1);
  if (first === undefined || last === undefined) return null;
  return { address: first, bytes: wanted.slice(first - block.address, last - block.address + 1), changes };
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
  const reads = options.everything && differing.length > 0 ? [{ from: 0, count: part.cells }] : stretches(toRead);
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

  const writes: PlannedWrite[] = [];
  const written = new Set<number>();
  for (const block of differing) {
    const before = bytesAt.get(block.address);
    const write = before === undefined ? wholeWrite(image, block) : neededWrite(image, block, before);
    if (write === null) continue;
    writes.push(write);
    written.add(block.address);
  }
  const overwritten = stretches(toRead.filter((b) => written.has(b.address))).map(({ from, count }) => {
    const run = old.find((r) => from >= r.from && from < r.from + r.bytes.length)!;
    return { from, bytes: run.bytes.slice(from - run.from, from - run.from + count) };
  });
  const cells = writes.reduce((sum, w) => sum + w.changes.length, 0);
  return { total: blocks.length, writes, old: options.everything && writes.length > 0 ? old : overwritten, cells };
}

/** About how long the writing takes, ms: the chip's own cycles at their longest, which set the pace. */
export const writingMs = (part: Part, plan: BurnPlan): number =>
  ((part.pageBytes.value === 1 ? plan.cells : plan.writes.length) * part.cycleMaxUs.value) / 1000;
