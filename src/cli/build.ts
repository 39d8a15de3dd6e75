// romkiln build: the images of a plan and their manifest, as files.
import { basename, dirname, extname, join } from 'node:path';
import { printable } from '../ground/byte-text.js';
import { ToolError } from '../ground/errors.js';
import type { ImageFormat } from '../image/image-format.js';
import { writeImage } from '../image/write-image.js';
import { columns } from '../report/columns.js';
import { holdsImage, imagesOfManifest } from './built-set.js';
import { type Execute, flagOption, textOption } from './command.js';
import type { MadeBefore } from './outputs.js';
import { tellDoubts } from './plan-doubts.js';
import { formatOption, loadPlan } from './source.js';

const endings: Readonly<Record<ImageFormat, string>> = { bin: 'bin', hex: 'hex', srec: 'srec', memh: 'memh' };

const isManifest: MadeBefore = (there) => imagesOfManifest(there) !== null;

/**
 * An image file is this command's own where it is what would be written anyway, or still holds what the last manifest says
 * of that ROM: in any format, so that one plan can be built in several.
 */
function isOfBuild(manifestFile: string, file: string, bytes: Uint8Array): MadeBefore {
  const bare = (path: string): string => basename(path, extname(path));
  return (there, peek) => {
    if (Buffer.from(there).equals(bytes)) return true;
    const named = imagesOfManifest(peek(manifestFile) ?? new Uint8Array())?.find(
      (image) => bare(image.file) === bare(file),
    );
    return named !== undefined && holdsImage(file, there, named);
  };
}

export const execute: Execute = async ({ world, command, operands, options, outputs }) => {
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
  const manifest = manifestOf(plan.name, built, fileOf);
  const manifestFile = join(folder, `${stem}.manifest.json`);
  // Everything is made and allowed before the first file is written, so that a mistake leaves nothing half done.
  const files = built.map(({ name, image }) => {
    const file = join(folder, fileOf(name));
    const bytes = writeImage(image, format);
    return { file, bytes, madeBefore: isOfBuild(manifestFile, file, bytes) };
  });
  world.files.makeFolder(folder);
  for (const { file, madeBefore } of files) outputs.check(file, madeBefore);
  outputs.check(manifestFile, isManifest);
  for (const { file, bytes, madeBefore } of files) outputs.write(file, bytes, madeBefore);
  // Last: until it stands there, the old one tells readers that the set is not all of one build.
  outputs.write(manifestFile, manifestText(manifest), isManifest);
  const warnings = await tellDoubts(world, path, plan);
  if (flagOption(options, 'json')) {
    world.stdout.write(`${JSON.stringify({ command: 'build', folder, warnings, ...manifest })}\n`);
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
