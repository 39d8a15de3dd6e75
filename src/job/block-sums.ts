// The sums of blocks as the writer takes them: what tells, without the bytes, whether a block is right or has changed.
import type { Writer } from '../writer/writer.js';
import { stretches } from './blocks.js';

/** CRC-32 of every block, by its first cell. `starts` in rising order; neighbours are asked for together. */
export async function sumsOfBlocks(
  writer: Writer,
  starts: readonly number[],
  size: number,
  signal?: AbortSignal,
): Promise<ReadonlyMap<number, number>> {
  const sums = new Map<number, number>();
  for (const { from, count } of stretches(starts, size)) {
    const found = await writer.sums(from, count, size, undefined, { signal });
    for (const [index, sum] of found.entries()) sums.set(from + index * size, sum);
  }
  return sums;
}
