// romkiln verify: every defined byte of an image read back from the chip and compared.
import { exit } from '../ground/exit.js';
import { notProvenText } from '../report/burn-text.js';
import { differencesFacts } from '../report/difference-facts.js';
import { comparedText, differenceText } from '../report/difference-text.js';
import { verifyChip } from '../task/chip-reading.js';
import { type Execute, flagOption } from './command.js';
import { errandOf, faceOf } from './face.js';
import { oneSourceAndTarget } from './source-and-target.js';

export const execute: Execute = async (invocation) => {
  const { world, options, command } = invocation;
  const target = await oneSourceAndTarget(invocation);
  const { part, port } = target;
  const { image, describe, range } = target.also;
  const task = { ...errandOf(invocation), image, range };
  const { same, difference } = await verifyChip(faceOf(invocation), target, task);
  if (flagOption(options, 'json')) {
    const proven = { readBack: same, wiring: false };
    const facts = { chip: part.name, image: image.name, port: port.path, proven };
    world.stdout.write(`${JSON.stringify({ command, same, ...facts, differences: differencesFacts(difference) })}\n`);
  } else if (same) world.stdout.write(`Verified: ${comparedText(difference)} All equal.\n${notProvenText}`);
  else {
    const text = differenceText(difference, { cells: part.cells, ...(describe && { describe }) });
    world.stdout.write(`Not the same.\n${text}${comparedText(difference)}\n`);
  }
  return same ? exit.done : exit.differs;
};
