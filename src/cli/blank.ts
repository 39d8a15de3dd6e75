// romkiln blank: does every cell read FF, from a chip that is shown to be there.
import { exit } from '../ground/exit.js';
import { readNotProvenText } from '../report/burn-text.js';
import { differencesFacts } from '../report/difference-facts.js';
import { differenceText } from '../report/difference-text.js';
import { countOf } from '../report/quantity.js';
import { checkBlank } from '../task/chip-reading.js';
import { type Execute, flagOption } from './command.js';
import { faceOf } from './face.js';
import { rangeOf } from './range-option.js';
import { prepare } from './target.js';

export const execute: Execute = async (invocation) => {
  const { world, options, command } = invocation;
  const target = await prepare(invocation, null, (part) => part && rangeOf(options, part));
  const { part } = target;
  const { same, difference } = await checkBlank(faceOf(invocation), target, target.also!);
  if (flagOption(options, 'json'))
    world.stdout.write(
      `${JSON.stringify({ command, chip: part.name, blank: same, proven: { readBack: same, wiring: false }, differences: differencesFacts(difference) })}\n`,
    );
  else if (same)
    world.stdout.write(
      `Blank: ${countOf(difference.compared, 'byte')} read, all FF, from a chip that drives the bus.\n${readNotProvenText}`,
    );
  else world.stdout.write(`Not blank.\n${differenceText(difference, { cells: part.cells })}`);
  return same ? exit.done : exit.differs;
};
