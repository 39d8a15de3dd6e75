// romkiln compare: two images, or a plan and a readback; the first is the wanted one.
import { ToolError } from '../ground/errors.js';
import { exit } from '../ground/exit.js';
import { definedCount } from '../image/defined-runs.js';
import { differenceOf } from '../image/difference.js';
import { parseRange } from '../image/range.js';
import { differencesFacts } from '../report/difference-facts.js';
import { comparedText, differenceText } from '../report/difference-text.js';
import { comparedSizeRemark } from './chip-remark.js';
import { type Execute, flagOption, textOption } from './command.js';
import { loadSource } from './source.js';

export const execute: Execute = async ({ world, operands, options }) => {
  const [wantedPath = '', actualPath = ''] = operands;
  const range = textOption(options, 'range');
  const wanted = await loadSource(world, wantedPath, options);
  const actual = await loadSource(world, actualPath, options);
  for (const { name, image } of [wanted, actual])
    if (definedCount(image) === 0) throw new ToolError('image.empty', { file: name });
  const cells = Math.max(wanted.image.bytes.length, actual.image.bytes.length);
  const difference = differenceOf(wanted.image, actual.image, range === null ? undefined : parseRange(range, cells));
  // Where nothing was wanted nothing can be the same.
  if (difference.compared + difference.missingCells === 0)
    throw new ToolError('job.nothing-defined', { image: wanted.name });
  const remark = comparedSizeRemark(wanted, actual);
  for (const warning of [...wanted.warnings, ...actual.warnings, ...(remark ? [remark] : [])])
    world.stderr.write(`${warning}\n`);
  if (flagOption(options, 'json')) {
    world.stdout.write(
      `${JSON.stringify({ command: 'compare', same: difference.same, differences: differencesFacts(difference) })}\n`,
    );
  } else {
    world.stdout.write(
      difference.same
        ? 'The same. '
        : differenceText(difference, { cells, ...(wanted.describe && { describe: wanted.describe }) }),
    );
    world.stdout.write(`${comparedText(difference)}\n`);
  }
  return difference.same ? exit.done : exit.differs;
};
