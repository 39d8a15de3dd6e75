// Burn: what was there goes into the keep, what differs is written, then every defined byte is read back and compared.
import type { Part } from '../chip/part.js';
import type { Difference } from '../image/difference.js';
import type { Image } from '../image/image.js';
import type { Range } from '../image/range.js';
import type { BlockOutcome, WriteBlock, Writer } from '../writer/writer.js';
import type { Run } from './blocks.js';
import type { BurnPlan, PlannedWrite } from './burn-plan.js';
import { verify } from './verify.js';

/** A cell that did not take: what it was sent, what it read after its cycle, what it held before where that is known. */
export interface FailedCell {
  readonly address: number;
  readonly wanted: number;
  readonly actual: number;
  readonly before: number | null;
}

export interface BurnOutcome {
  /** Every defined byte was read back, over the link, equal, after the last write. */
  readonly verified: boolean;
  readonly written: number;
  readonly skipped: number;
  readonly total: number;
  readonly failed: readonly FailedCell[];
  /** Every failed cell still holds what it held before: the chip refuses writes, it is not worn. */
  readonly refused: boolean;
  /** Null where the burn was stopped before the verify. */
  readonly difference: Difference | null;
  readonly interrupted: boolean;
  /** The blocks that were written. */
  readonly blocksWritten: readonly PlannedWrite[];
}

export interface BurnOptions {
  readonly range: Range;
  readonly signal?: AbortSignal;
  readonly onWritten?: (done: number, total: number) => void;
  readonly onVerified?: (done: number, total: number) => void;
}

/** A refused chip refuses every block: this many in a row that did not take are proof enough, the rest need not be tried. */
const failuresInARow = 4;

const before = (old: readonly Run[], address: number): number | null => {
  const run = old.find((r) => address >= r.from && address < r.from + r.bytes.length);
  return run?.bytes[address - run.from] ?? null;
};

interface Written {
  readonly outcomes: readonly (BlockOutcome | undefined)[];
  readonly interrupted: boolean;
}

/** Writes the blocks; stops early when asked to, or when one after the other does not take. */
async function writeAll(writer: Writer, writes: readonly WriteBlock[], options: BurnOptions): Promise<Written> {
  const giveUp = new AbortController();
  const stopAsked = (): void => giveUp.abort();
  options.signal?.addEventListener('abort', stopAsked);
  if (options.signal?.aborted) giveUp.abort();
  const outcomes = new Array<BlockOutcome | undefined>(writes.length);
  let done = 0;
  let failures = 0;
  try {
    await writer.writeBlocks(writes, {
      signal: giveUp.signal,
      onDone: (index, outcome) => {
        outcomes[index] = outcome;
        done += 1;
        failures = outcome.kind === 'written' ? 0 : failures + 1;
        if (failures >= failuresInARow) giveUp.abort();
        options.onWritten?.(done, writes.length);
      },
    });
  } finally {
    options.signal?.removeEventListener('abort', stopAsked);
  }
  return { outcomes, interrupted: options.signal?.aborted ?? false };
}

/** A cell at the edge of its life may take at the second try; one retry a block, counted. */
async function retryFailed(
  writer: Writer,
  writes: readonly WriteBlock[],
  first: Written,
  options: BurnOptions,
): Promise<Written> {
  const again = writes.map((_, index) => index).filter((index) => first.outcomes[index]?.kind === 'mismatch');
  const stopped = first.outcomes.some((o) => o === undefined || o.kind === 'stopped');
  if (again.length === 0 || stopped || first.interrupted) return first;
  const second = await writeAll(
    writer,
    again.map((index) => writes[index]!),
    options,
  );
  const outcomes = [...first.outcomes];
  again.forEach((index, at) => {
    outcomes[index] = second.outcomes[at] ?? outcomes[index];
  });
  return { outcomes, interrupted: second.interrupted };
}

/**
 * Carries out a burn plan. `keep` has stored the old bytes before this is called. The verify reads everything the
 * image defines in the range, also where nothing was written.
 */
export async function burn(
  writer: Writer,
  part: Part,
  image: Image,
  plan: BurnPlan,
  options: BurnOptions,
): Promise<BurnOutcome> {
  const first = await writeAll(writer, plan.writes, options);
  const { outcomes, interrupted } = await retryFailed(writer, plan.writes, first, options);
  const failed = outcomes.flatMap((o) =>
    o?.kind === 'mismatch'
      ? [{ address: o.address, wanted: o.wanted, actual: o.actual, before: before(plan.old, o.address) }]
      : [],
  );
  const blocksWritten = plan.writes.filter((_, index) => outcomes[index]?.kind === 'written');
  // The chip may have left its socket in the meantime: a bus that nobody drives is not verified.
  if (!interrupted) await writer.presence(0);
  const checked = interrupted
    ? null
    : await verify(writer, part, image, {
        range: options.range,
        ...(options.onVerified && { onRead: options.onVerified }),
      });
  return {
    verified: checked?.same ?? false,
    written: blocksWritten.length,
    skipped: plan.total - plan.writes.length,
    total: plan.total,
    failed,
    refused: failed.length > 0 && failed.every((f) => f.before !== null && f.actual === f.before),
    difference: checked?.difference ?? null,
    interrupted,
    blocksWritten,
  };
}
