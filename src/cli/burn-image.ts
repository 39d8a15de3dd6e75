// A burn as a command runs it: the task, then what came of it as words or as one object.
import { exit } from '../ground/exit.js';
import { burnFacts, burnOutcomeText } from '../report/burn-text.js';
import { differencesFacts } from '../report/difference-facts.js';
import { type Describe, differenceText } from '../report/difference-text.js';
import { type BurnReport, type BurnTask, burnImage, planImage } from '../task/burn-image.js';
import type { Target } from '../task/session.js';
import { flagOption, type Invocation } from './command.js';
import { sayErrors } from './error-text.js';
import { errandOf, faceOf } from './face.js';

export interface BurnJob extends Pick<BurnTask, 'image' | 'range' | 'codes' | 'restores'> {
  readonly describe: Describe | null;
}

function say({ world, options, command }: Invocation, { image, describe }: BurnJob, burned: BurnReport): void {
  const { part, port, outcome, keptId, retries, restarts, asides } = burned;
  const names = { image: image.name, part, port };
  const { difference } = outcome;
  if (flagOption(options, 'json')) {
    const proven = { readBack: outcome.verified, wiring: false };
    const facts = { retries, restarts, kept: keptId, proven, differences: difference && differencesFacts(difference) };
    world.stdout.write(`${JSON.stringify(burnFacts(command, names, outcome, facts))}\n`);
  } else {
    world.stdout.write(burnOutcomeText(names, outcome, keptId));
    // A chip that refused everything differs everywhere: the sentence below says more than a table.
    if (difference && !difference.same && !outcome.refused)
      world.stdout.write(differenceText(difference, { cells: part.cells, ...(describe && { describe }) }));
  }
  for (const error of asides) sayErrors(error, world, { json: false, command });
}

/** Runs the job and says what came of it. Returns the exit number: 0 verified, 4 not, 130 interrupted. */
export async function runBurn(invocation: Invocation, target: Target, job: BurnJob): Promise<number> {
  const { world, options, command } = invocation;
  const { describe: _, ...what } = job;
  const task = { ...errandOf(invocation), ...what, discard: flagOption(options, 'discard') };
  if (flagOption(options, 'dryRun')) {
    const { total, writes, cells } = await planImage(faceOf(invocation), target, task);
    const pages = { total, toWrite: writes.length, skipped: total - writes.length };
    const facts = { command, chip: target.part.name, dryRun: true, pages, cells };
    if (flagOption(options, 'json')) world.stdout.write(`${JSON.stringify(facts)}\n`);
    return exit.done;
  }
  const burned = await burnImage(faceOf(invocation), target, task);
  say(invocation, job, burned);
  return burned.exit;
}
