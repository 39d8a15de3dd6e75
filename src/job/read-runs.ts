// Several stretches read one after the other, with one progress for all of them.
import type { Writer } from '../writer/writer.js';
import type { Run } from './blocks.js';

export interface Reading {
  /** Cells read so far, of all cells that are to be read. */
  readonly onRead?: ((done: number, total: number) => void) | undefined;
  readonly signal?: AbortSignal | undefined;
}

/** The bytes of these stretches, each read with one request. */
export async function readRuns(
  writer: Writer,
  stretches: readonly { readonly from: number; readonly count: number }[],
  { onRead, signal }: Reading,
): Promise<Run[]> {
  const total = stretches.reduce((sum, s) => sum + s.count, 0);
  const runs: Run[] = [];
  let before = 0;
  for (const { from, count } of stretches) {
    const bytes = await writer.read(from, count, (done) => onRead?.(before + done, total), { signal });
    runs.push({ from, bytes });
    before += count;
  }
  return runs;
}
