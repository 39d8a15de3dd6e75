// A planned burn carried out: what differs is written, then every defined byte is read back and compared.
import type { Part } from '../chip/part.js';
import { type Difference, differenceOf } from '../image/difference.js';
import type { Image } from '../image/image.js';
import { constantLine, type OneLine, oneLineOf, oneLineOfCells } from '../image/one-line.js';
import { type Range, wholeRange } from '../image/range.js';
import type { BlockOutcome, WriteBlock, Writer } from '../writer/writer.js';
import { blockSize, blockStart, type Run, rangesOfBlocks, runAt } from './blocks.js';
import { BrokenOff } from './broken-off.js';
import type { BurnPlan, PlannedWrite } from './burn-plan.js';
import { type Beside, watchBystanders } from './bystanders.js';
import { cyclesOf } from './page-list.js';
import { requireChip } from './presence.js';
import { type Kept, requireKept } from './recorded-write.js';
import { changedNeighbours, neededMending, wantedBlocks } from './torn-pages.js';
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
  /** Blocks that were sent, whatever came of them. */
  readonly tried: number;
  /** No block took, and no cell reads otherwise than before, as far as that is known: the chip refuses writes. */
  readonly refused: boolean;
  /** Blocks read right only after the time that their write cycle may take: the chip is slower than its row. */
  readonly late: boolean;
  /** Null where the burn was stopped before the verify. */
  readonly difference: Difference | null;
  /** Where all that did not take is one data line's. */
  readonly oneLine: OneLine | null;
  readonly interrupted: boolean;
  /** The blocks that ran write cycles, whether they took or not. */
  readonly blocksWritten: readonly PlannedWrite[];
  /** Cells that changed although nobody asked. */
  readonly beside: readonly Beside[];
  /** Blocks that may hold anything: the writer restarted, and nobody could look any more. */
  readonly inDoubt: readonly Range[];
}

/** A burn that broke off: why, which blocks were sent, and which may hold anything, old or new. */
export class BurnBrokenOff extends BrokenOff {
  constructor(
    reason: unknown,
    part: Part,
    readonly blocksWritten: readonly PlannedWrite[],
    readonly inDoubt: readonly Range[],
  ) {
    super(reason, cyclesOf(part, blocksWritten));
  }
}

export interface BurnOptions {
  readonly range: Range;
  /** Protection codes go before every block: a chip that does not know them takes them as data, anywhere. */
  readonly codes?: boolean;
  readonly signal?: AbortSignal;
  /** After each block that the writer carried out, whether it took or not; dropped ones are not counted. */
  readonly onWritten?: (done: number, total: number) => void;
  readonly onVerified?: (done: number, total: number) => void;
}

/** A refused chip refuses every block: this many in a row that did not take are proof enough, the rest need not be tried. */
const failuresInARow = 4;

const before = (old: readonly Run[], address: number): number | null => {
  const run = runAt(old, address);
  return run?.bytes[address - run.from] ?? null;
};

type Outcomes = (BlockOutcome | undefined)[];

/** Writes the blocks; stops early when asked to, or when one after the other does not take. Resolves with: was it interrupted. */
async function writeAll(
  writer: Writer,
  writes: readonly WriteBlock[],
  outcomes: Outcomes,
  options: BurnOptions,
): Promise<boolean> {
  const giveUp = new AbortController();
  const stopAsked = (): void => giveUp.abort();
  options.signal?.addEventListener('abort', stopAsked);
  if (options.signal?.aborted) giveUp.abort();
  let done = 0;
  let failures = 0;
  try {
    await writer.writeBlocks(writes, {
      signal: giveUp.signal,
      onDone: (index, outcome) => {
        outcomes[index] = outcome;
        // What was dropped was not done.
        if (outcome.kind === 'stopped') return;
        done += 1;
        failures = outcome.kind === 'written' ? 0 : failures + 1;
        if (failures >= failuresInARow) giveUp.abort();
        options.onWritten?.(done, writes.length);
      },
    });
  } finally {
    options.signal?.removeEventListener('abort', stopAsked);
  }
  return options.signal?.aborted ?? false;
}

/** What ran write cycles of a block that was sent: without page mode the first cell that does not take ends it. */
function asFarAsSent(part: Part, write: PlannedWrite, outcome: BlockOutcome): PlannedWrite {
  if (part.pageBytes.value > 1 || (outcome.kind !== 'mismatch' && outcome.kind !== 'never-ready')) return write;
  return { ...write, changes: write.changes.filter((cell) => cell <= outcome.address) };
}

/** A cell at the edge of its life may take at the second try; one retry a block, each added to `retried`. Resolves with: was it interrupted. */
async function retryFailed(
  writer: Writer,
  part: Part,
  writes: readonly PlannedWrite[],
  outcomes: Outcomes,
  retried: PlannedWrite[],
  options: BurnOptions,
): Promise<boolean> {
  const again = writes.map((_, index) => index).filter((index) => outcomes[index]?.kind === 'mismatch');
  const stopped = writes.some((_, index) => (outcomes[index]?.kind ?? 'stopped') === 'stopped');
  if (again.length === 0 || stopped) return false;
  const second: Outcomes = [];
  const interrupted = await writeAll(
    writer,
    again.map((index) => writes[index]!),
    second,
    options,
  );
  again.forEach((index, at) => {
    // A second try that was not made leaves what the first one found.
    const outcome = second[at];
    if (!outcome || outcome.kind === 'stopped') return;
    outcomes[index] = outcome;
    retried.push(asFarAsSent(part, writes[index]!, outcome));
  });
  return interrupted;
}

/** The blocks of these writes as ranges. A plan names each block once, in order of address. */
function rangesOfWrites(part: Part, writes: readonly WriteBlock[]): Range[] {
  const size = blockSize(part);
  const starts = writes.map((w) => blockStart(w.address, size));
  return rangesOfBlocks(starts, size);
}

/**
 * Carries out a burn plan, whose old bytes are in the record `kept`. The verify reads everything the image defines in the
 * range, also where nothing was written. Rejects with BurnBrokenOff when the writer is lost on the way.
 */
export async function burn(
  writer: Writer,
  part: Part,
  image: Image,
  plan: BurnPlan,
  kept: Kept,
  options: BurnOptions,
): Promise<BurnOutcome> {
  requireKept(kept, plan.writes);
  const { range, signal } = options;
  const watch = { range, all: options.codes ?? false, ...(signal && { signal }) };
  const bystanders = await watchBystanders(writer, part, image, plan.writes, watch);
  const blocks = wantedBlocks(part, image, plan, range);
  const restartsBefore = writer.counts.restarts;
  const restarted = (): boolean => writer.counts.restarts > restartsBefore;
  const outcomes = new Array<BlockOutcome | undefined>(plan.writes.length);
  let mended: readonly PlannedWrite[] = [];
  const retried: PlannedWrite[] = [];
  const written = (): PlannedWrite[] => plan.writes.filter((_, i) => outcomes[i]?.kind === 'written');
  // Each of them may have cost its cells a write cycle.
  const sent = (): PlannedWrite[] =>
    plan.writes.flatMap((write, i) => {
      const outcome = outcomes[i] ?? { kind: 'stopped' };
      return outcome.kind === 'stopped' ? [] : [asFarAsSent(part, write, outcome)];
    });
  const anyFailed = (): boolean => outcomes.some((o) => o?.kind === 'mismatch' || o?.kind === 'never-ready');
  const inDoubt = (): Range[] => {
    // Codes that were taken as data may have hit any page.
    if (options.codes && plan.writes.length > 0) return [wholeRange(part.cells)];
    return rangesOfWrites(
      part,
      restarted() ? plan.writes : plan.writes.filter((_, i) => outcomes[i]?.kind !== 'written'),
    );
  };
  try {
    let interrupted = await writeAll(writer, plan.writes, outcomes, options);
    interrupted ||= await retryFailed(writer, part, plan.writes, outcomes, retried, options);
    if (restarted() && !interrupted) {
      const mending = await neededMending(writer, blocks, signal);
      interrupted = await writeAll(writer, mending, [], options);
      mended = mending;
    }
    // The chip may have left its socket in the meantime: a bus that nobody drives is not verified.
    if (!interrupted) await requireChip(writer);
    const checked = interrupted ? null : await verify(writer, part, image, { range, onRead: options.onVerified });
    const neighbours = checked ? changedNeighbours(plan.seen, image, range, checked.readback) : [];
    const late = checked === null ? [] : lateWrites(plan, outcomes, image, checked.readback);
    const readsNow = ({ address }: { address: number }): number | null => checked?.readback.bytes[address] ?? null;
    const failed = failedCells(plan, outcomes).filter((f) => readsNow(f) !== f.wanted);
    const tookLate = (o: BlockOutcome | undefined): boolean =>
      o?.kind === 'never-ready' || (o?.kind === 'mismatch' && readsNow(o) === o.wanted);
    const ofTried = checked && oneLineOfTried(plan, outcomes, image, checked.readback, range);
    // A stuck line lets no block take either, while its cells change.
    const changed = ofTried?.level != null || (checked !== null && changedAnywhere(plan, checked.readback));
    const constant = checked === null || checked.same ? null : constantLine(image, checked.readback, range);
    // Without page mode the first cell that does not take ends its block.
    const oneLine = ofTried ?? oneLineOfCells(failed) ?? constant;
    // Where nobody knows what was there, a data line with one level may hide what the chip took.
    const isHidden = plan.old.length === 0 && constant !== null;
    const refused = failed.length > 0 && written().length + late.length === 0 && !changed && !isHidden;
    // What a chip refused did not wear it.
    const worn = refused ? [] : [...sent(), ...retried];
    return {
      verified: checked?.same ?? false,
      written: written().length + late.length,
      skipped: plan.total - plan.writes.length,
      total: plan.total,
      tried: sent().length,
      failed,
      refused,
      late: checked !== null && outcomes.some(tookLate),
      difference: checked?.difference ?? null,
      oneLine,
      interrupted,
      blocksWritten: [...worn, ...mended],
      beside: checked
        ? [...neighbours.map((r) => ({ ...r, lines: [] })), ...(await bystanders.changed(neighbours))]
        : [],
      // Codes before a block that did not take may have been stored as data; nobody looked where.
      inDoubt: interrupted && (restarted() || (options.codes && anyFailed())) ? inDoubt() : [],
    };
  } catch (error) {
    throw new BurnBrokenOff(error, part, [...sent(), ...retried, ...mended], inDoubt());
  }
}

/** The whole difference of the blocks that were tried is one data line's: where one after the other fails the rest is not tried. */
function oneLineOfTried(
  plan: BurnPlan,
  outcomes: readonly (BlockOutcome | undefined)[],
  image: Image,
  readback: Image,
  range: Range,
): OneLine | null {
  const tried = { ...image, defined: new Uint8Array(image.defined.length) };
  plan.writes.forEach(({ address, bytes }, i) => {
    const kind = outcomes[i]?.kind;
    if (kind !== 'mismatch' && kind !== 'written') return;
    for (let cell = address; cell < address + bytes.length; cell += 1) tried.defined[cell] = image.defined[cell] ?? 0;
  });
  return oneLineOf(differenceOf(tried, readback, range), tried, readback, range);
}

/** A cell that was to be written reads otherwise than it did before; where that is not known, none is said to. */
const changedAnywhere = (plan: BurnPlan, readback: Image): boolean =>
  plan.writes.some(({ changes }) =>
    changes.some((cell) => {
      const old = before(plan.old, cell);
      return old !== null && readback.defined[cell] === 1 && readback.bytes[cell] !== old;
    }),
  );

/** Blocks that the writer called wrong or unfinished, and that read right in every cell now. */
const lateWrites = (
  plan: BurnPlan,
  outcomes: readonly (BlockOutcome | undefined)[],
  image: Image,
  readback: Image,
): PlannedWrite[] =>
  plan.writes.filter(
    ({ changes }, i) =>
      ['mismatch', 'never-ready'].includes(outcomes[i]?.kind ?? '') &&
      changes.every((cell) => readback.bytes[cell] === image.bytes[cell]),
  );

const failedCells = (plan: BurnPlan, outcomes: readonly (BlockOutcome | undefined)[]): FailedCell[] =>
  outcomes.flatMap((o) =>
    o?.kind === 'mismatch'
      ? [
          {
            address: o.address,
            wanted: o.wanted,
            actual: o.actual,
            before: before(plan.old, o.address),
          },
        ]
      : [],
  );
