// Pages that lost their supply in the middle of a write cycle may hold anything: found by reading, and put right again.
import type { Part } from '../chip/part.js';
import type { Image } from '../image/image.js';
import type { Range } from '../image/range.js';
import type { Writer } from '../writer/writer.js';
import { blockSize, type Run } from './blocks.js';
import type { BurnPlan, PlannedWrite } from './burn-plan.js';

/** What each block that is written must hold in the end: the image where it says something, else what was there. */
export function wantedBlocks(part: Part, image: Image, plan: BurnPlan, range: Range): Run[] {
  const size = blockSize(part);
  return plan.writes.map(({ address }) => {
    const from = address - (address % size);
    const old = plan.old.find((r) => from >= r.from && from < r.from + r.bytes.length);
    // A block that nobody looked at before is one that the image defines as a whole.
    const bytes = (old ?? { from: 0, bytes: image.bytes }).bytes.slice(from - (old?.from ?? 0)).slice(0, size);
    for (let cell = from; cell < from + size; cell += 1)
      if (isAsked(image, range, cell)) bytes[cell - from] = image.bytes[cell]!;
    return { from, bytes };
  });
}

export const isAsked = (image: Image, range: Range, cell: number): boolean =>
  cell >= range.from && cell <= range.to && image.defined[cell] === 1;

/** Reads the blocks again; what must be written so that they hold what they should. */
export async function neededMending(
  writer: Writer,
  blocks: readonly Run[],
  signal?: AbortSignal,
): Promise<PlannedWrite[]> {
  const writes: PlannedWrite[] = [];
  for (const { from, bytes } of blocks) {
    const actual = await writer.read(from, bytes.length, undefined, { signal });
    const changes = [...bytes.keys()].filter((i) => bytes[i] !== actual[i]);
    const [first, last] = [changes[0], changes.at(-1)];
    if (first === undefined || last === undefined) continue;
    writes.push({ address: from + first, bytes: bytes.slice(first, last + 1), changes: changes.map((i) => from + i) });
  }
  return writes;
}

/** Cells of these blocks that nobody asked to change and that changed, as ranges. */
export function changedNeighbours(blocks: readonly Run[], image: Image, range: Range, readback: Image): Range[] {
  const found: { from: number; to: number }[] = [];
  for (const { from, bytes } of blocks)
    bytes.forEach((byte, i) => {
      const cell = from + i;
      if (isAsked(image, range, cell) || readback.defined[cell] !== 1 || readback.bytes[cell] === byte) return;
      const last = found.at(-1);
      if (last && last.to === cell - 1) last.to = cell;
      else found.push({ from: cell, to: cell });
    });
  return found;
}
