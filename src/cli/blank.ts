// romkiln blank: does every cell read FF, from a chip that is shown to be there.
import { exit } from '../ground/exit.js';
import { blankCheck } from '../job/verify.js';
import { readNotProvenText } from '../report/burn-text.js';
import { differencesFacts } from '../report/difference-facts.js';
import { differenceText } from '../report/difference-text.js';
import { countOf } from '../report/quantity.js';
import { type Execute, flagOption } from './command.js';
import { rangeOf } from './range-option.js';
import { prepare, withChip } from './session.js';

export const execute: Execute = async (invocation) => {
  const { world, options, command } = invocation;
  const target = await prepare(invocation, null, (part) => part && rangeOf(options, part));
  return withChip(invocation, target, {}, async ({ writer, part, progress }) => {
    const { same, difference } = await blankCheck(writer, part, {
      range: target.also!,
      signal: world.interrupt,
      onRead: (done, total) => progress.show('reading', done, total),
    });
    progress.end();
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
  });
};
