// romkiln keep: what was in chips before it was overwritten.
import { ToolError } from '../ground/errors.js';
import { type Image, imageOfRuns } from '../image/image.js';
import { formatNames } from '../image/image-format.js';
import { writeImage } from '../image/write-image.js';
import type { Run } from '../job/blocks.js';
import { hasBytes, type KeptRecord } from '../job/keep.js';
import { keptListText, keptText } from '../report/keep-text.js';
import { keepOf } from './book-keeping.js';
import { type Execute, flagOption, textOption } from './command.js';
import { outputFormat } from './source.js';

/** The kept bytes as an image: only what was overwritten is defined. */
export function imageOfKept(record: KeptRecord, runs: readonly Run[]): Image {
  const cells = Math.max(...runs.map((r) => r.from + r.bytes.length));
  return imageOfRuns(`kept ${record.id}`, cells, runs);
}

export const execute: Execute = async ({ world, operands, options, command, outputs }) => {
  const [action = '', id] = operands;
  const keep = keepOf(world);
  const json = flagOption(options, 'json');
  if (action === 'list') {
    const { records: all, damaged } = keep.list();
    const records = all.filter(hasBytes);
    world.stdout.write(json ? `${JSON.stringify({ command, records, damaged })}\n` : keptListText(records, damaged));
    return 0;
  }
  if (action !== 'show') throw new ToolError('cli.bad-value', { option: 'keep', value: action, wanted: 'list, show' });
  if (id === undefined)
    throw new ToolError('cli.missing-argument', { command, argument: 'id', usage: 'romkiln keep show <id>' });
  const record = keep.find(id);
  const runs = keep.runsOf(record);
  const file = textOption(options, 'output');
  const format = file === null ? null : outputFormat(options, file);
  if (file !== null && format !== null) outputs.write(file, writeImage(imageOfKept(record, runs), format));
  world.stdout.write(
    json
      ? `${JSON.stringify({ command, record, file, format })}\n`
      : keptText(record, runs, format && `${file} (${formatNames[format]})`),
  );
  return 0;
};
