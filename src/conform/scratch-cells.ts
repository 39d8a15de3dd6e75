// The cells of a scratch chip that rules write: read before anything is written, put back after.

import type { Part } from '../chip/part.js';
import { ToolError } from '../ground/errors.js';
import type { Link } from '../link/link.js';
import { Conversation } from './conversation.js';
import { meetWriter } from './meeting.js';
import { RuleContext } from './rule.js';

export interface CellReading {
  readonly signal?: AbortSignal | undefined;
  /** Cells read so far. */
  readonly onRead?: ((done: number) => void) | undefined;
}

/** Cells of one request, so that a person who interrupts does not wait for the whole chip. */
const cellsAtOnce = 0x800;

async function readAll(context: RuleContext, count: number, { signal, onRead }: CellReading): Promise<Uint8Array> {
  const cells = new Uint8Array(count);
  for (let from = 0; from < count; from += cellsAtOnce) {
    if (signal?.aborted) throw new ToolError('writer.stopped', {});
    cells.set(await context.read(from, Math.min(cellsAtOnce, count - from)), from);
    onRead?.(Math.min(from + cellsAtOnce, count));
  }
  return cells;
}

/** What the cells read, how many did not read alike the second time, and who read them. */
export interface ScratchReading {
  readonly build: string;
  readonly cells: Uint8Array;
  readonly unsteady: number;
}

/**
 * Reads the whole chip twice on a link that was just opened. To be called before a run that writes, on a link of its own:
 * after it the writer knows a chip, and a run wants it fresh. Rejects with conform.broken where the writer does not read.
 */
export async function readScratchChip(link: Link, part: Part, reading: CellReading = {}): Promise<ScratchReading> {
  const talk = new Conversation(link);
  const { writer, greeting } = await meetWriter(talk, reading.signal);
  talk.silenceMs = writer.silenceMs;
  const context = new RuleContext(talk, writer, greeting, part, false);
  await context.choose();
  const [cells, again] = [
    await readAll(context, part.cells, { ...reading, onRead: (done) => reading.onRead?.(done) }),
    await readAll(context, part.cells, { ...reading, onRead: (done) => reading.onRead?.(part.cells + done) }),
  ];
  return { build: writer.build, cells, unsteady: cells.filter((byte, cell) => byte !== again[cell]).length };
}

/** Makes sure that the chip takes a block at all. Throws conform.broken where it does not. */
export async function tryBlock(context: RuleContext, before: Uint8Array): Promise<void> {
  await context.choose();
  await context.write(0, Uint8Array.of(before[0]! ^ 0xff));
  await context.write(0, before.slice(0, 1));
}

/**
 * Writes what differs; resolves with the number of cells that do not read as before in the end. `takesBlocks`: the chip
 * was not protected at first, and a rule that broke may have left it so.
 */
export async function putBack(context: RuleContext, before: Uint8Array, takesBlocks: boolean): Promise<number> {
  await context.choose();
  if (takesBlocks && context.part?.protection.value) {
    await context.talk.ask('unprotect', [], context.workMs(1));
    await context.choose();
  }
  const now = await readAll(context, before.length, {});
  const { page } = context.choice;
  const size = page === 1 ? Math.min(context.writer.cells, 0x20) : page;
  for (let start = 0; start < before.length; start += size) {
    const wanted = before.slice(start, start + size);
    if (wanted.some((byte, i) => byte !== now[start + i])) await context.write(start, wanted);
  }
  const after = await readAll(context, before.length, {});
  return before.filter((byte, cell) => byte !== after[cell]).length;
}
