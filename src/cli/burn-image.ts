// Burning one image in one conversation: planned, said, kept, written, verified, entered in the book. Used by every command that writes.

import { wholeChipCycles, withCodes } from '../chip/chip-table.js';
import type { Part } from '../chip/part.js';
import { ToolError } from '../ground/errors.js';
import { exit, worstExit } from '../ground/exit.js';
import type { Image } from '../image/image.js';
import type { Range } from '../image/range.js';
import { BrokenOff, type BurnOutcome, burn } from '../job/burn.js';
import { type BurnPlan, planBurn } from '../job/burn-plan.js';
import { hasBytes, type KeptRecord } from '../job/keep.js';
import { slowChip } from '../job/presence.js';
import { type BurnNames, burnFacts, burnOutcomeText, burnPlanText, rangesText } from '../report/burn-text.js';
import { differencesFacts } from '../report/difference-facts.js';
import { type Describe, differenceText } from '../report/difference-text.js';
import { checkBook, enterInBook, keepOf, pagesWritten } from './book-keeping.js';
import { flagOption, type Invocation, textOption } from './command.js';
import { sayErrors } from './error-text.js';
import type { ChipSession } from './session.js';

export interface BurnJob {
  readonly image: Image;
  readonly range: Range;
  readonly describe: Describe | null;
  /** The protection codes go before every block. */
  readonly codes?: boolean;
}

/** The pages (cells where there is no page mode) that a burn may write at most. Codes taken as data may hit any. */
const pagesAtMost = (part: Part, plan: BurnPlan, codes: boolean): string =>
  codes ? `0-${wholeChipCycles(part) - 1}` : pagesWritten(part, plan.writes);

/**
 * Old bytes go to the keep with a note of the burn, and only when both are safe there does the first write leave: a burn
 * that is cut off has no line in the book, but its record. Null where nothing is written.
 */
function noteBurn(invocation: Invocation, session: ChipSession, job: BurnJob, plan: BurnPlan): KeptRecord | null {
  if (plan.writes.length === 0) return null;
  const { world, options, command } = invocation;
  const { part } = session;
  const discard = flagOption(options, 'discard');
  const about = {
    time: world.wallTime().toISOString(),
    chip: part.name,
    label: textOption(options, 'label'),
    port: session.port.path,
    image: job.image.name,
    burn: { command, pages: pagesAtMost(part, plan, job.codes ?? false), pageBytes: part.pageBytes.value },
  };
  try {
    checkBook(world);
    return keepOf(world).store(about, discard ? [] : plan.old);
  } catch (error) {
    // Where nothing has to be kept a full disk stops nothing.
    if (discard && ToolError.is(error, 'cli.data-folder')) return null;
    throw error;
  }
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

/** A burn that lost its writer: what was written is entered, what is in doubt is said. */
function sayBrokenOff(
  invocation: Invocation,
  session: ChipSession,
  image: Image,
  broken: BrokenOff,
  record: KeptRecord | null,
): void {
  session.progress.end();
  sayBeside(invocation, session, { beside: [], inDoubt: broken.inDoubt }, keptIdOf(record));
  enterInBook(invocation, session, {
    image,
    blocksWritten: broken.blocksWritten,
    result: 'broken off',
    exit: broken.reason instanceof ToolError ? broken.reason.exit : exit.ourFault,
    proven: 'nothing',
    record: record?.id ?? null,
  });
}

const keptIdOf = (record: KeptRecord | null): string | null => (record && hasBytes(record) ? record.id : null);

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
  const signal = world.interrupt;
  const plan = await planBurn(writer, part, job.image, {
    range: job.range,
    keep: !flagOption(options, 'discard'),
    everything: job.codes ?? false,
    signal,
    onRead: (done, total) => progress.show('reading what is there', done, total),
  });
  say(burnPlanText(names, plan));
  if (flagOption(options, 'dryRun')) {
    if (json)
      world.stdout.write(
        `${JSON.stringify({ command, chip: part.name, dryRun: true, pages: { total: plan.total, toWrite: plan.writes.length, skipped: plan.total - plan.writes.length }, cells: plan.cells })}\n`,
      );
    return exit.done;
  }
  const record = noteBurn(invocation, session, job, plan);
  const keptId = keptIdOf(record);
  const outcome = await burn(writer, part, job.image, plan, {
    range: job.range,
    codes: job.codes ?? false,
    signal,
    onWritten: (done, total) => progress.show('writing', done, total),
    onVerified: (done, total) => progress.show('reading back', done, total),
  }).catch((error: unknown) => {
    // What ended it before its first write ended it too.
    const broken = error instanceof BrokenOff ? error : new BrokenOff(error, [], []);
    sayBrokenOff(invocation, session, job.image, broken, record);
    throw broken.reason;
  });
  const result = outcome.interrupted ? exit.interrupted : outcome.verified ? exit.done : exit.refused;
  say(burnOutcomeText(names, outcome, keptId));
  const difference = outcome.difference;
  // A chip that refused everything differs everywhere: the sentence below says more than a table.
  if (difference && !difference.same && !outcome.refused)
    say(differenceText(difference, { cells: part.cells, ...(job.describe && { describe: job.describe }) }));
  enterInBook(invocation, session, {
    image: job.image,
    blocksWritten: outcome.blocksWritten,
    skipped: outcome.skipped,
    result: outcome.interrupted ? 'interrupted' : outcome.verified ? 'verified' : 'not verified',
    exit: result,
    proven: outcome.verified
      ? 'every defined byte read back equal by the writer that burned it; its wiring not proven'
      : 'nothing',
    verified: outcome.verified ? job.range : null,
    record: record?.id ?? null,
  });
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
