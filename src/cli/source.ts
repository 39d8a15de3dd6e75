// Where a command gets its bytes from: an image file, or a plan in place of one.
import { findPart } from '../chip/chip-table.js';
import type { Part } from '../chip/part.js';
import { ToolError } from '../ground/errors.js';
import type { Image } from '../image/image.js';
import { formatOfName, type ImageFormat, imageFormats } from '../image/image-format.js';
import { readImage } from '../image/read-image.js';
import type { Plan } from '../plan/plan.js';
import type { Rom } from '../plan/rom.js';
import type { Describe } from '../report/difference-text.js';
import { setRemarks } from './built-set.js';
import { type OptionValues, textOption } from './command.js';
import { isPlanFile } from './plan-file.js';
import { choiceOption } from './values.js';
import type { World } from './world.js';

export interface Source {
  /** As people know it: the file, and the ROM of a plan. */
  readonly name: string;
  readonly image: Image;
  /** The part that the plan names; null for an image file. */
  readonly chip: string | null;
  /** Says a difference in the plan's words; null for an image file. */
  readonly describe: Describe | null;
  readonly rom: Rom | null;
  /** The plan that it comes from; null for an image file. */
  readonly plan: Plan | null;
  readonly warnings: readonly string[];
}

const moduleName = /\.[cm]?[jt]s$/i;

/** Text or value of a plan, for whoever reads it. */
export async function planContent(world: World, path: string): Promise<{ text: string } | { value: unknown }> {
  if (moduleName.test(path)) {
    // Read here too, so that it counts as an input, and a missing file is said as any other.
    world.files.read(path);
    return { value: await world.loadModule(path) };
  }
  return { text: Buffer.from(await world.readInput(path)).toString('utf8') };
}

export async function loadPlan(world: World, path: string): Promise<Plan> {
  // Asked for first: it loads while a plan module runs in its own process.
  const plans = import('../plan/plan.js');
  const content = await planContent(world, path);
  const readFile = (name: string): Uint8Array => world.files.read(name);
  const { planOfObject, readPlan } = await plans;
  return 'text' in content ? readPlan(content.text, path, readFile) : planOfObject(content.value, path, readFile);
}

async function planSources(world: World, path: string, romName: string | null): Promise<Source[]> {
  const plan = await loadPlan(world, path);
  const { buildPlan, describeDifference, romOf } = await import('../plan/plan.js');
  const only = romName === null ? null : romOf(plan, romName);
  const built = buildPlan(plan);
  return plan.roms.flatMap((rom, index) => {
    if (only !== null && rom !== only) return [];
    const { image, chip } = built[index]!;
    const describe: Describe = (address, wanted, actual) => describeDifference(rom, address, wanted, actual);
    const name = plan.roms.length === 1 ? path : `${path} (${rom.name})`;
    return [{ name, image: { ...image, name }, chip, describe, rom, plan, warnings: [] }];
  });
}

async function imageSource(
  world: World,
  path: string,
  format: ImageFormat | null,
  size: number | null,
): Promise<Source> {
  const { image, warnings } = readImage(await world.readInput(path), {
    file: path,
    ...(format !== null && { format }),
    ...(size !== null && { size }),
  });
  return {
    name: path,
    image,
    chip: null,
    describe: null,
    rom: null,
    plan: null,
    warnings: [...warnings.map((w) => w.text), ...setRemarks(world.files, path)],
  };
}

export const formatOption = (options: OptionValues): ImageFormat | null =>
  choiceOption(options, 'format', '--format', imageFormats);

/** The part that the plan of this source names; null for a file, which knows none. */
export const plannedPart = ({ chip }: Source): Part | null => (chip === null ? null : findPart(chip));

/** The format for a file to be written: --format, else by its name; where that tells nothing it is raw binary. */
export const outputFormat = (options: OptionValues, file: string): ImageFormat =>
  formatOption(options) ?? formatOfName(file) ?? 'bin';

/** All images of a file: one, or one for each ROM of a plan (only the one of --rom). */
export async function loadSources(
  world: World,
  path: string,
  options: OptionValues,
  size: number | null = null,
): Promise<Source[]> {
  if (isPlanFile(path)) return planSources(world, path, textOption(options, 'rom'));
  return [await imageSource(world, path, formatOption(options), size)];
}

/** Exactly one image; a plan of several ROMs needs --rom. */
export async function loadSource(
  world: World,
  path: string,
  options: OptionValues,
  size: number | null = null,
): Promise<Source> {
  const sources = await loadSources(world, path, options, size);
  if (sources.length > 1) {
    const roms = sources.map((s) => s.rom?.name ?? '');
    throw new ToolError('plan.which-rom', { plan: path, roms });
  }
  return sources[0]!;
}
