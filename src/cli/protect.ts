// romkiln protect and unprotect: software data protection switched on or off.
import { ToolError } from '../ground/errors.js';
import { type Execute, flagOption } from './command.js';
import { prepare, withChip } from './session.js';

export const execute: Execute = async (invocation) => {
  const { world, options, command } = invocation;
  const target = await prepare(invocation, null, (part) => {
    if (part && !part.protection.value) throw new ToolError('writer.no-protection', { chip: part.name });
  });
  return withChip(invocation, target, {}, async ({ writer, part }) => {
    const on = command === 'protect';
    await (on ? writer.protect() : writer.unprotect());
    if (flagOption(options, 'json'))
      world.stdout.write(`${JSON.stringify({ command, chip: part.name, sent: true })}\n`);
    else
      world.stdout.write(
        `The codes that switch protection ${on ? 'on' : 'off'} were sent to ${part.name}. The chip does not tell its state; ${
          on ? 'a burn without --protected will now be refused' : 'the next burn shows whether it takes'
        }.\n`,
      );
    return 0;
  });
};
