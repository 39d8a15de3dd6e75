// romkiln dump: a chip into a file, once or several times to find unsteady cells.

import type { Part } from '../chip/part.js';
import { hex, printable } from '../ground/byte-text.js';
import { ToolError } from '../ground/errors.js';
import { differenceOf } from '../image/difference.js';
import type { Image } from '../image/image.js';
import { formatNames, type ImageFormat } from '../image/image-format.js';
import { sumsOf } from '../image/image-sums.js';
import { type Range, sliceRange } from '../image/range.js';
import { writeImage } from '../image/write-image.js';
import type { Dumped } from '../job/verify.js';
import { readNotProvenText } from '../report/burn-text.js';
import { differenceText } from '../report/difference-text.js';
import { addressText, byteText, countOf } from '../report/quantity.js';
import { dumpChip } from '../task/chip-reading.js';
import { type Execute, flagOption, type Invocation, textOption } from './command.js';
import { errandOf, faceOf } from './face.js';
import { rangeOf } from './range-option.js';
import { loadSource, outputFormat, plannedPart, type Source } from './source.js';
import { prepare } from './target.js';
import { numberOption } from './values.js';

const passesMost = 1000;

function unsteadyText(dumped: Dumped, part: Part): string {
  if (dumped.unsteady.length === 0) return '';
  const shown = dumped.unsteady
    .slice(0, 8)
    .map((u) => `${addressText(u.address, part.cells)} (${u.seen.map(byteText).join(', ')})`);
  const more = dumped.unsteady.length > 8 ? ', ...' : '';
  return `Unsteady, not the same at every reading: ${countOf(dumped.unsteady.length, 'cell')}: ${shown.join(', ')}${more}\n`;
}

/** Raw binary has no addresses: a part of a chip is written from its first cell. The other formats keep their addresses. */
const fileImage = (image: Image, range: Range, format: ImageFormat): Image =>
  format === 'bin' ? sliceRange(image, range) : image;

function say(
  { world, options, command }: Invocation,
  part: Part,
  dumped: Dumped,
  range: Range,
  { file, format }: { readonly file: string; readonly format: ImageFormat },
  plan: Source | null,
): void {
  const difference = plan && differenceOf(plan.image, dumped.image, range);
  const sums = sumsOf(sliceRange(dumped.image, range));
  if (flagOption(options, 'json')) {
    const facts = {
      chip: part.name,
      file,
      format,
      from: range.from,
      to: range.to,
      crc32: hex(sums.crc32, 8),
      unsteady: dumped.unsteady,
    };
    world.stdout.write(`${JSON.stringify({ command, ...facts })}\n`);
    return;
  }
  world.stdout.write(
    `${countOf(range.to - range.from + 1, 'byte')} of ${part.name} read into ${printable(file)} (${formatNames[format]}), CRC-32 ${hex(sums.crc32, 8)}.\n`,
  );
  world.stdout.write(unsteadyText(dumped, part));
  if (difference) {
    const text = differenceText(difference, { cells: part.cells, ...(plan.describe && { describe: plan.describe }) });
    world.stdout.write(
      difference.same
        ? `The same as ${printable(plan.name)}.\n${readNotProvenText}`
        : `Not the same as ${printable(plan.name)}:\n${text}`,
    );
  }
}

export const execute: Execute = async (invocation) => {
  const { world, options, operands, command } = invocation;
  const plan = operands[0] === undefined ? null : await loadSource(world, operands[0], options);
  const planPart = plan && plannedPart(plan);
  const target = await prepare(invocation, planPart, (part) => {
    const file = textOption(options, 'output');
    if (file === null)
      throw new ToolError('cli.missing-option', { command, option: '-o <file>', why: 'the bytes must go somewhere.' });
    const format = outputFormat(options, file);
    // Before the chip is read, which takes its time.
    invocation.outputs.check(file);
    const passes = numberOption(options, 'passes', '--passes', 1, passesMost) ?? 1;
    return { file, format, passes, range: part === null ? null : rangeOf(options, part) };
  });
  const { file, format, passes } = target.also;
  const range = target.also.range!;
  const dumped = await dumpChip(faceOf(invocation), target, {
    ...errandOf(invocation),
    ...{ range, passes, file },
    store: (image) => invocation.outputs.write(file, writeImage(fileImage(image, range, format), format)),
  });
  say(invocation, target.part, dumped, range, { file, format }, plan);
  return dumped.exit;
};
