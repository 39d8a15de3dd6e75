// Burning one image in one conversation, on the recorded path. Used by everything that burns.
import { withCodes } from '../chip/chip-table.js';
import type { Part } from '../chip/part.js';
import { ToolError } from '../ground/errors.js';
import { worstExit } from '../ground/exit.js';
import type { Image } from '../image/image.js';
import type { Range } from '../image/range.js';
import { BrokenOff } from '../job/broken-off.js';
import { BurnBrokenOff, type BurnOutcome } from '../job/burn.js';
import type { BurnPlan } from '../job/burn-plan.js';
import { slowChip } from '../job/presence.js';
import { planOf, recordedBurn } from '../job/recorded-burn.js';
import { rangesText } from '../report/burn-text.js';
import { type Errand, recordsOf } from './records.js';
import { type ChipSession, type Target, withChip } from './session.js';
import { type Surroundings, shown } from './surroundings.js';

export interface BurnTask extends Errand {
  readonly image: Image;
  readonly range: Range;
  readonly discard: boolean;
  /** The protection codes go before every block. */
  readonly codes?: boolean;
  /** The record that is restored. */
  readonly restores?: string;
}

export interface BurnReport {
  readonly part: Part;
  readonly port: string;
  readonly plan: BurnPlan;
  readonly outcome: BurnOutcome;
  readonly keptId: string | null;
  /** Lines sent again, and starts of the writer in between. */
  readonly retries: number;
  readonly restarts: number;
  /** Why the chip did not take its bytes, and what else is uncertain. */
  readonly asides: readonly ToolError[];
  /** 0 verified, 4 not, 130 interrupted; the worst where something else is uncertain too. */
  readonly exit: number;
}

/** What a burn leaves uncertain beside its own cells. */
function besideOf(part: Part, { beside, inDoubt }: Pick<BurnOutcome, 'beside' | 'inDoubt'>, keptId: string | null) {
  const chip = part.name;
  if (beside.length > 0) {
    const lines = [...new Set(beside.flatMap((b) => b.lines))].map((line) => `A${line}`);
    return new ToolError('job.changed-beside', { cells: rangesText(beside, part.cells), lines, chip, keptId });
  }
  return inDoubt.length > 0 ? new ToolError('job.in-doubt', { cells: rangesText(inDoubt, part.cells), keptId }) : null;
}

/** Why a chip did not take its bytes, or not in time, as far as the cells tell. */
function whyOf(command: string, part: Part, { verified, interrupted, late, refused, oneLine }: BurnOutcome) {
  // A line with one level, which the writer may ask whether a cycle is over, makes it look too early.
  if (late && oneLine?.level == null) return slowChip(part);
  if ((verified || interrupted) && !late) return null;
  return refused
    ? new ToolError('job.refused', { chip: part.name, withCodes: withCodes(part), command })
    : new ToolError('job.not-verified', {});
}

async function burnIn(around: Surroundings, session: ChipSession, task: BurnTask): Promise<BurnReport> {
  const { writer, part } = session;
  const { command, label, image, range, discard, codes = false, restores } = task;
  const port = session.port.path;
  const burned = await recordedBurn(writer, part, image, recordsOf(around), {
    ...{ command, label, range, discard, codes, port },
    ...(restores !== undefined && { restores }),
    ...shown(around, 'reading-before'),
    onPlan: (plan) => around.tell({ kind: 'burn-plan', image: image.name, part, port, plan }),
    onWritten: (done, total) => around.progress('writing', done, total),
    onVerified: (done, total) => around.progress('reading-back', done, total),
  }).catch((error: unknown) => {
    if (!(error instanceof BrokenOff)) throw error;
    const doubt = error instanceof BurnBrokenOff ? { beside: [], inDoubt: error.inDoubt } : null;
    const aside = doubt && besideOf(part, doubt, error.keptId);
    if (aside) around.tell({ kind: 'aside', error: aside });
    throw error.reason;
  });
  const { outcome, keptId, plan } = burned;
  const beside = besideOf(part, outcome, keptId);
  const why = whyOf(command, part, outcome);
  return {
    ...{ part, port, plan, outcome, keptId },
    retries: writer.counts.resent,
    restarts: writer.counts.restarts,
    asides: [why, beside].filter((aside) => aside !== null),
    exit: worstExit([burned.exit, ...(beside ? [beside.exit] : [])]),
  };
}

const needsOf = ({ codes }: BurnTask) => ({ protection: codes ? ('prefix' as const) : ('codes' as const) });

/** Keeps, writes, verifies and enters. What breaks off is told with what it leaves, and then thrown. */
export const burnImage = (around: Surroundings, target: Target, task: BurnTask): Promise<BurnReport> =>
  withChip(around, target, needsOf(task), (session) => burnIn(around, session, task));

/** What `burnImage` would do, which is told. Nothing is written. */
export const planImage = (around: Surroundings, target: Target, task: BurnTask): Promise<BurnPlan> =>
  withChip(around, target, needsOf(task), async ({ writer, part, port }) => {
    const plan = await planOf(writer, part, task.image, { ...task, ...shown(around, 'reading-before') });
    around.tell({ kind: 'burn-plan', image: task.image.name, part, port: port.path, plan });
    return plan;
  });
