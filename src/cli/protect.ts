// romkiln protect and unprotect: software data protection switched on or off.
import { ToolError } from '../ground/errors.js';
import { exit } from '../ground/exit.js';
import { differencesFacts } from '../report/difference-facts.js';
import { differenceText } from '../report/difference-text.js';
import { protectChip } from '../task/protection.js';
import { type Execute, flagOption } from './command.js';
import { sayErrors } from './error-text.js';
import { errandOf, faceOf } from './face.js';
import { prepare } from './target.js';

export const execute: Execute = async (invocation) => {
  const { world, options, command } = invocation;
  const target = await prepare(invocation, null, (part) => {
    if (part && !part.protection.value) throw new ToolError('chip.no-protection', { chip: part.name });
  });
  const { part } = target;
  const on = command === 'protect';
  const { difference, keptId } = await protectChip(faceOf(invocation), target, { ...errandOf(invocation), on });
  const { same } = difference;
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
};
