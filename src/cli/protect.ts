// romkiln protect and unprotect: software data protection switched on or off.
import { ToolError } from '../ground/errors.js';
import { exit } from '../ground/exit.js';
import { wholeRange } from '../image/range.js';
import { BrokenOff } from '../job/broken-off.js';
import { switchProtection } from '../job/protection.js';
import { rangesText } from '../report/burn-text.js';
import { differencesFacts } from '../report/difference-facts.js';
import { differenceText } from '../report/difference-text.js';
import { jobOf, recordsOf } from './book-keeping.js';
import { type Execute, flagOption } from './command.js';
import { sayErrors } from './error-text.js';
import { prepare, withChip } from './session.js';

export const execute: Execute = async (invocation) => {
  const { world, options, command } = invocation;
  const target = await prepare(invocation, null, (part) => {
    if (part && !part.protection.value) throw new ToolError('chip.no-protection', { chip: part.name });
  });
  return withChip(invocation, target, {}, async (session) => {
    const { writer, part, progress } = session;
    const reading = (label: string) => ({
      signal: world.interrupt,
      onRead: (done: number, total: number) => progress.show(label, done, total),
    });
    const on = command === 'protect';
    const { difference, keptId } = await switchProtection(
      writer,
      recordsOf(invocation, session),
      jobOf(invocation, session, null),
      { on, before: reading('reading what is there'), after: reading('comparing') },
    ).catch((error: unknown) => {
      if (!(error instanceof BrokenOff)) throw error;
      progress.end();
      const cells = rangesText([wholeRange(part.cells)], part.cells);
      sayErrors(new ToolError('job.in-doubt', { cells, keptId: error.keptId }), world, { json: false, command });
      throw error.reason;
    });
    const { same } = difference;
    progress.end();
    if (flagOption(options, 'json'))
      world.stdout.write(
        `${JSON.stringify({ command, chip: part.name, sent: true, unchanged: same, kept: keptId, differences: differencesFacts(difference) })}\n`,
      );
    else if (same)
      world.stdout.write(
        `The codes that switch protection ${on ? 'on' : 'off'} were sent to ${part.name}, and no byte changed. The chip does not tell its state; ${
          on ? 'a burn without --protected will now be refused' : 'the next burn shows whether it takes'
        }.\n`,
      );
    else world.stdout.write(differenceText(difference, { cells: part.cells }));
    if (same) return exit.done;
    const error = new ToolError('job.codes-stored', { chip: part.name, bytes: difference.bytes, keptId });
    return sayErrors(error, world, { json: false, command });
  });
};
