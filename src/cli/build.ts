// romkiln build: the images of a plan and their manifest, as files.
import { basename, dirname, extname, join } from 'node:path';
import { printable } from '../ground/byte-text.js';
import { ToolError } from '../ground/errors.js';
import type { ImageFormat } from '../image/image-format.js';
import { writeImage } from '../image/write-image.js';
import { columns } from '../report/columns.js';
import { type Execute, flagOption, textOption } from './command.js';
import { formatOption, loadPlan } from './source.js';

const endings: Readonly<Record<ImageFormat, string>> = { bin: 'bin', hex: 'hex', srec: 'srec', memh: 'memh' };

export const execute: Execute = async ({ world, command, operands, options }) => {
  const { buildPlan, imageFileName, manifestOf, manifestText, planJsonSchema } = await import('../plan/plan.js').then(
    async (plan) => ({
      ...plan,
      ...(await import('../plan/json-schema.js')),
    }),
  );
  if (flagOption(options, 'schema')) {
    world.stdout.write(`${JSON.stringify(planJsonSchema(), null, 2)}\n`);
    return 0;
  }
  const path = operands[0];
  if (path === undefined) {
    const usage = 'romkiln build <plan> [options]';
    throw new ToolError('cli.missing-argument', { command, argument: 'plan', usage });
  }
  const format = formatOption(options) ?? 'bin';
  const plan = await loadPlan(world, path);
  const built = buildPlan(plan);
  const folder = textOption(options, 'output') ?? dirname(path);
  const stem = basename(path, extname(path));
  const fileOf = (rom: string): string => imageFileName(stem, built.length, rom, endings[format]);
  // Everything is made before the first file is written, so that a mistake leaves nothing half done.
  const files = built.map(({ name, image }) => ({
    file: join(folder, fileOf(name)),
    bytes: writeImage(image, format),
  }));
  const manifest = manifestOf(plan.name, built, fileOf);
  world.files.makeFolder(folder);
  for (const { file, bytes } of files) world.files.replace(file, bytes);
  world.files.replace(join(folder, `${stem}.manifest.json`), manifestText(manifest));
  if (flagOption(options, 'json')) {
    world.stdout.write(`${JSON.stringify({ command: 'build', folder, ...manifest })}\n`);
    return 0;
  }
  const rows = manifest.roms.map((r) => [
    printable(r.file),
    r.chip,
    `${r.defined}/${r.cells}`,
    r.crc32,
    r.sum8,
    r.sum16,
    r.sha256.slice(0, 16),
  ]);
  world.stdout.write(columns(['file', 'chip', 'defined', 'CRC-32', 'sum 8', 'sum 16', 'SHA-256'], rows));
  world.stdout.write(`Written to ${printable(folder)}, with ${printable(stem)}.manifest.json.\n`);
  return 0;
};
