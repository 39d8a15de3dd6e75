// The recorded burn: planned, what is there kept, noted, written, verified, entered in the book. There is no other way to burn.
import { wholeChipCycles } from '../chip/chip-table.js';
import type { Part } from '../chip/part.js';
import { exit } from '../ground/exit.js';
import type { Image } from '../image/image.js';
import { type Range, wholeRange } from '../image/range.js';
import type { Writer } from '../writer/writer.js';
import type { JobEnd } from './broken-off.js';
import { type BurnOutcome, burn } from './burn.js';
import { type BurnPlan, planBurn } from './burn-plan.js';
import { cyclesOf, pagesAsked, pagesText } from './page-list.js';
import type { Reading } from './read-runs.js';
import { type Records, recordedWrite } from './recorded-write.js';

export interface RecordedBurnOptions extends Reading {
  /** The port, for keep and book. */
  readonly port: string;
  /** Default: the whole chip. */
  readonly range?: Range;
  /** What this chip is called on the bench. */
  readonly label?: string | null;
  /** Do not keep what is overwritten. */
  readonly discard?: boolean;
  /** Protection codes go before every block: a chip that does not know them takes them as data, anywhere. */
  readonly codes?: boolean;
  /** What the job is called in the book. Default: burn. */
  readonly command?: string;
  /** Of a restore: the record whose bytes are burned. */
  readonly restores?: string;
  /** Once, before the first write. */
  readonly onPlan?: (plan: BurnPlan) => void;
  readonly onWritten?: (done: number, total: number) => void;
  readonly onVerified?: (done: number, total: number) => void;
}

export interface RecordedBurn {
  readonly plan: BurnPlan;
  readonly outcome: BurnOutcome;
  /** The record that `restore` takes; null where nothing was overwritten, or nobody wanted it kept. */
  readonly keptId: string | null;
  /** 0 verified, 4 not, 130 interrupted. */
  readonly exit: number;
}

/** What a burn of these options would do. Nothing is written. */
export const planOf = (
  writer: Writer,
  part: Part,
  image: Image,
  { range = wholeRange(part.cells), discard = false, codes = false, onRead, signal }: Omit<RecordedBurnOptions, 'port'>,
): Promise<BurnPlan> => planBurn(writer, part, image, { range, keep: !discard, everything: codes, onRead, signal });

/** The pages that a burn may write at most. Codes taken as data may hit any. */
const pagesAtMost = (part: Part, plan: BurnPlan, codes: boolean): string => {
  if (plan.writes.length === 0) return '';
  return codes ? `0-${wholeChipCycles(part) - 1}` : pagesText(cyclesOf(part, plan.writes));
};

function endOf(part: Part, image: Image, range: Range, outcome: BurnOutcome): JobEnd {
  const facts = { cycles: cyclesOf(part, outcome.blocksWritten), skipped: outcome.skipped };
  if (outcome.interrupted) return { ...facts, outcome: { kind: 'interrupted' }, exit: exit.interrupted };
  if (!outcome.verified) return { ...facts, outcome: { kind: 'not-verified' }, exit: exit.refused };
  return { ...facts, outcome: { kind: 'verified', pages: pagesAsked(part, image, range) }, exit: exit.done };
}

/** Rejects with BrokenOff when the writer is lost on the way; what it leaves is in the book by then. */
export async function recordedBurn(
  writer: Writer,
  part: Part,
  image: Image,
  records: Records,
  options: RecordedBurnOptions,
): Promise<RecordedBurn> {
  const { range = wholeRange(part.cells), codes = false, discard = false, signal, onWritten, onVerified } = options;
  const plan = await planOf(writer, part, image, options);
  options.onPlan?.(plan);
  const job = {
    command: options.command ?? 'burn',
    label: options.label ?? null,
    part,
    writer: { port: options.port, build: writer.introduction.build },
    image,
    ...(options.restores !== undefined && { restores: options.restores }),
    content: image.name,
    pagesAtMost: pagesAtMost(part, plan, codes),
    retries: () => writer.counts.resent,
  };
  return recordedWrite(records, job, discard ? 'discarded' : plan.old, async (kept, keptId) => {
    const outcome = await burn(writer, part, image, plan, kept, {
      range,
      codes,
      ...(signal && { signal }),
      ...(onWritten && { onWritten }),
      ...(onVerified && { onVerified }),
    });
    const end = endOf(part, image, range, outcome);
    return { result: { plan, outcome, keptId, exit: end.exit }, end };
  });
}
