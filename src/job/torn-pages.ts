// Pages that lost their supply in the middle of a write cycle may hold anything: found by reading, and put right again.
import type { Part } from '../chip/part.js';
import type { Image } from '../image/image.js';
import { joinRanges, type Range } from '../image/range.js';
import type { Writer } from '../writer/writer.js';
import { blockSize, blockStart, type Run, runAt } from './blocks.js';
import type { BurnPlan } from './burn-plan.js';
import { isAsked, neededWrite, type PlannedWrite, wantedCells } from './wanted-cells.js';

/** What each block that is written must hold in the end: the image where it says something, else what was there. */
export function wantedBlocks(part: Part, image: Image, plan: BurnPlan, range: Range): Run[] {
  const size = blockSize(part);
  return plan.writes.map(({ address }) => {
    const from = blockStart(address, size);
    // A block that nobody looked at before is one that the image defines as a whole.
    const old = runAt(plan.old, from) ?? { from: 0, bytes: image.bytes };
    return wantedCells(image, range, { from, bytes: old.bytes.slice(from - old.from, from - old.from + size) });
  });
}

/** Reads the blocks again; what must be written so that they hold what they should. */
export async function neededMending(
  writer: Writer,
  blocks: readonly Run[],
  signal?: AbortSignal,
): Promise<PlannedWrite[]> {
  const writes: PlannedWrite[] = [];
  for (const block of blocks) {
    const write = neededWrite(block, await writer.read(block.from, block.bytes.length, undefined, { signal }));
    if (write) writes.push(write);
  }
  return writes;
}

/** Cells of these blocks that nobody asked to change and that changed, as ranges. */
export function changedNeighbours(blocks: readonly Run[], image: Image, range: Range, readback: Image): Range[] {
  const changed = ({ from, bytes }: Run): number[] =>
    [...bytes.keys()]
      .filter((i) => readback.defined[from + i] === 1 && readback.bytes[from + i] !== bytes[i])
      .map((i) => from + i)
      .filter((cell) => !isAsked(image, range, cell));
  return joinRanges(blocks.flatMap(changed).map((cell) => ({ from: cell, to: cell })));
}
