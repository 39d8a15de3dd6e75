// Is a chip there, on every data line, and ready: asked before anything is said about its bytes, and again before a verify.
import type { Part } from '../chip/part.js';
import { ToolError } from '../ground/errors.js';
import { chipChoice } from '../writer/chip-choice.js';
import type { Writer } from '../writer/writer.js';

/** Odd, so that a bit that toggles from read to read differs in every cell of two such readings. */
const cellsTried = 7;
/** A chip that is slower than its row may still be at work: so often it is asked again, some milliseconds each. */
const tries = 40;
/** What a busy chip shows is indeterminate, and by chance twice the same: a chip that was busy is believed at the third time. */
const steadyEnough = 3;

/**
 * Most cells read otherwise at once: so a chip in its write cycle answers, by its toggle bit, or since all but bit 7 is
 * indeterminate (AT28C64B data sheet). Few cells that do are unsteady ones.
 */
export async function isBusy(writer: Writer): Promise<boolean> {
  const first = await writer.read(0, cellsTried);
  const second = await writer.read(0, cellsTried);
  return first.filter((byte, cell) => byte !== second[cell]).length > cellsTried / 2;
}

/** Waits for a chip that is in its write cycle. Resolves with false where it does not come out of it. */
export async function comesReady(writer: Writer): Promise<boolean> {
  if (!(await isBusy(writer))) return true;
  let steady = 0;
  for (let left = tries; left > 0 && steady < steadyEnough; left -= 1) steady = (await isBusy(writer)) ? 0 : steady + 1;
  return steady === steadyEnough;
}

/** What is said of a chip that comes ready only after the time that the writer gives its row. */
export const slowChip = (part: Part): ToolError =>
  new ToolError('job.slow-chip', { chip: part.name, limitMs: chipChoice(part).cycleUs / 1000 });

/** Looked at again where something is odd. */
async function staysReady(writer: Writer): Promise<boolean> {
  for (let left = steadyEnough; left > 0; left -= 1) if (await isBusy(writer)) return false;
  return true;
}

/**
 * The mask of data lines that nobody drives. Rejects with writer.not-driven where that is all of them, and with
 * job.still-busy where the chip does not come out of its write cycle. That is waited for first: the toggling line of a
 * busy chip looks like one that follows the charge.
 */
export async function linesNotDriven(writer: Writer): Promise<number> {
  const isReady = await comesReady(writer);
  const following = await writer.presence(0);
  if (!isReady || (following !== 0 && !(await staysReady(writer)))) throw new ToolError('job.still-busy', {});
  return following;
}

/** Rejects like `linesNotDriven`, and with job.line-not-driven where one data line is nobody's. */
export async function requireChip(writer: Writer): Promise<void> {
  const following = await linesNotDriven(writer);
  const lines = [0, 1, 2, 3, 4, 5, 6, 7].filter((bit) => following & (1 << bit)).map((bit) => `D${bit}`);
  if (lines.length > 0) throw new ToolError('job.line-not-driven', { lines });
}
