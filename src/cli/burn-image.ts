// Burning one image in one conversation: planned, said, kept, written, verified, entered in the book. Used by every command that writes.

import { withCodes } from '../chip/chip-table.js';
import { ToolError } from '../ground/errors.js';
import { exit, worstExit } from '../ground/exit.js';
import type { Image } from '../image/image.js';
import type { Range } from '../image/range.js';
import { BrokenOff } from '../job/broken-off.js';
import { BurnBrokenOff, type BurnOutcome } from '../job/burn.js';
import { slowChip } from '../job/presence.js';
import { planOf, recordedBurn } from '../job/recorded-burn.js';
import { type BurnNames, burnFacts, burnOutcomeText, burnPlanText, rangesText } from '../report/burn-text.js';
import { differencesFacts } from '../report/difference-facts.js';
import { type Describe, differenceText } from '../report/difference-text.js';
import { recordsOf } from './book-keeping.js';
import { flagOption, type Invocation, textOption } from './command.js';
import { sayErrors } from './error-text.js';
import type { ChipSession } from './session.js';

export interface BurnJob {
  readonly image: Image;
  readonly range: Range;
  readonly describe: Describe | null;
  /** The protection codes go before every block. */
  readonly codes?: boolean;
  /** The record that is restored. */
  readonly restores?: string;
}

/** What a burn leaves uncertain beside its own cells, in a sentence of its own. Returns the exit number that this asks for. */
function sayBeside(
  invocation: Invocation,
  { part }: ChipSession,
  { beside, inDoubt }: Pick<BurnOutcome, 'beside' | 'inDoubt'>,
  keptId: string | null,
): number {
  const say = (error: ToolError): number =>
    sayErrors(error, invocation.world, { json: false, command: invocation.command });
  const chip = part.name;
  if (beside.length > 0) {
    const lines = [...new Set(beside.flatMap((b) => b.lines))].map((line) => `A${line}`);
    return say(new ToolError('job.changed-beside', { cells: rangesText(beside, part.cells), lines, chip, keptId }));
  }
  return inDoubt.length > 0
    ? say(new ToolError('job.in-doubt', { cells: rangesText(inDoubt, part.cells), keptId }))
    : exit.done;
}

/** Runs the job and says what came of it. Returns the exit number: 0 verified, 4 not, 130 interrupted. */
export async function burnImage(invocation: Invocation, session: ChipSession, job: BurnJob): Promise<number> {
  const { world, options, command } = invocation;
  const { writer, part, progress } = session;
  const json = flagOption(options, 'json');
  const say = (text: string): void => {
    progress.end();
    if (!json) world.stdout.write(text);
  };
  const names: BurnNames = { image: job.image.name, part, port: session.port.path };
  const reading = {
    range: job.range,
    discard: flagOption(options, 'discard'),
    codes: job.codes ?? false,
    signal: world.interrupt,
    onRead: (done: number, total: number) => progress.show('reading what is there', done, total),
  };
  if (flagOption(options, 'dryRun')) {
    const plan = await planOf(writer, part, job.image, reading);
    say(burnPlanText(names, plan));
    if (json)
      world.stdout.write(
        `${JSON.stringify({ command, chip: part.name, dryRun: true, pages: { total: plan.total, toWrite: plan.writes.length, skipped: plan.total - plan.writes.length }, cells: plan.cells })}\n`,
      );
    return exit.done;
  }
  const {
    outcome,
    keptId,
    exit: result,
  } = await recordedBurn(writer, part, job.image, recordsOf(invocation, session), {
    ...reading,
    port: session.port.path,
    label: textOption(options, 'label'),
    command,
    ...(job.restores !== undefined && { restores: job.restores }),
    onPlan: (plan) => say(burnPlanText(names, plan)),
    onWritten: (done, total) => progress.show('writing', done, total),
    onVerified: (done, total) => progress.show('reading back', done, total),
  }).catch((error: unknown) => {
    if (!(error instanceof BrokenOff)) throw error;
    progress.end();
    if (error instanceof BurnBrokenOff)
      sayBeside(invocation, session, { beside: [], inDoubt: error.inDoubt }, error.keptId);
    throw error.reason;
  });
  say(burnOutcomeText(names, outcome, keptId));
  const difference = outcome.difference;
  // A chip that refused everything differs everywhere: the sentence below says more than a table.
  if (difference && !difference.same && !outcome.refused)
    say(differenceText(difference, { cells: part.cells, ...(job.describe && { describe: job.describe }) }));
  if (json) {
    const facts = {
      retries: writer.counts.resent,
      restarts: writer.counts.restarts,
      kept: keptId,
      proven: { readBack: outcome.verified, wiring: false },
    };
    world.stdout.write(
      `${JSON.stringify(burnFacts(command, names, outcome, { ...facts, differences: difference && differencesFacts(difference) }))}\n`,
    );
  }
  if (outcome.late || result === exit.refused) sayWhy(invocation, session, outcome);
  return worstExit([result, sayBeside(invocation, session, outcome, keptId)]);
}

/** Why a chip did not take its bytes, or not in time, as far as the cells tell. */
function sayWhy({ world, command }: Invocation, { part }: ChipSession, outcome: BurnOutcome): void {
  const { late, refused, oneLine } = outcome;
  // A line with one level, which the writer may ask whether a cycle is over, makes it look too early.
  const why =
    late && oneLine?.level == null
      ? slowChip(part)
      : refused
        ? new ToolError('job.refused', { chip: part.name, withCodes: withCodes(part), command })
        : new ToolError('job.not-verified', {});
  sayErrors(why, world, { json: false, command });
}
