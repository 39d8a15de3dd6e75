// One simulated run, drawn from its seed: chip, contents, image, commands, and the writer's habits. What goes wrong is drawn apart.
import { parts } from '../../src/chip/chip-table.js';
import type { Part } from '../../src/chip/part.js';
import { type Random, seededRandom } from '../../src/ground/random.js';
import type { Image } from '../../src/image/image.js';
import { spellRange } from '../../src/image/range.js';
import { writeImage } from '../../src/image/write-image.js';

export interface Step {
  readonly command:
    | 'burn'
    | 'verify'
    | 'blank'
    | 'dump'
    | 'erase'
    | 'restore'
    | 'protect'
    | 'unprotect'
    | 'rig'
    | 'conform'
    | 'book';
  /** The words of the command; `<kept>` stands for the id that was kept last. */
  readonly argv: readonly string[];
  /** The first and last address that the command is about. */
  readonly from: number;
  readonly to: number;
  readonly json: boolean;
  /** Nothing may be written, and nothing is kept of what is. */
  readonly dryRun: boolean;
  readonly discards: boolean;
}

export interface Scenario {
  readonly seed: number;
  /** The part as the person names it: real, or a family. */
  readonly said: Part;
  /** The part in the socket. */
  readonly seated: Part;
  readonly cycleUs: number;
  /** What the chip holds before: as many bytes as the seated part has cells. */
  readonly contents: Uint8Array;
  /** What is burned and verified, and the file that says so. */
  readonly image: Image;
  readonly file: { readonly name: string; readonly bytes: Uint8Array };
  readonly steps: readonly Step[];
  readonly answerDelayMs: number;
  readonly resetsOnOpen: boolean;
  readonly chainReturn: boolean;
}

export interface Sizes {
  /** Most pages in an image, and most cells where the chip is written cell by cell. */
  readonly pagesMost: number;
  readonly cellsMost: number;
  /** Chips up to so many cells are taken; larger ones now and then. */
  readonly chipCells: number;
}

export const mockSizes: Sizes = { pagesMost: 16, cellsMost: 256, chipCells: 8192 };
export const firmwareSizes: Sizes = { pagesMost: 16, cellsMost: 64, chipCells: 8192 };

function drawParts(random: Random, sizes: Sizes): { said: Part; seated: Part } {
  const large = random.chance(0.04);
  const real = parts.filter((p) => p.members === null && (large ? p.cells === 32768 : p.cells <= sizes.chipCells));
  const seated = random.pick(real);
  const family = parts.find((p) => p.members?.includes(seated.name));
  return { said: family && random.chance(0.25) ? family : seated, seated };
}

/** Where the image lies: whole pages, few rather than many. */
function drawRegion(random: Random, part: Part, sizes: Sizes): { from: number; to: number } {
  const page = part.pageBytes.value;
  const most = page === 1 ? sizes.cellsMost : sizes.pagesMost * page;
  const unit = page === 1 ? 16 : page;
  const count = 1 + random.below(1 + random.below(most / unit));
  const first = random.chance(0.3) ? 0 : random.below(part.cells / unit - count + 1);
  const from = first * unit;
  return { from, to: from + count * unit - 1 };
}

/** Bytes with what lookup ROMs have: long stretches of one byte, counters, noise. */
function drawBytes(random: Random, count: number): Uint8Array {
  const kind = random.below(4);
  if (kind === 0) return new Uint8Array(count).fill(random.pick([0x00, 0xff, random.below(256)]));
  if (kind === 1) return Uint8Array.from({ length: count }, (_, i) => (i * 7 + 3) & 0xff);
  return random.bytes(count);
}

function drawImage(random: Random, part: Part, region: { from: number; to: number }): Image {
  const bytes = new Uint8Array(part.cells).fill(0xff);
  bytes.set(drawBytes(random, region.to - region.from + 1), region.from);
  const defined = new Uint8Array(part.cells).fill(1, region.from, region.to + 1);
  for (let holes = random.chance(0.5) ? random.below(5) : 0; holes > 0; holes--) {
    const at = region.from + random.below(region.to - region.from + 1);
    defined.fill(0, at, Math.min(region.to, at + random.below(40)));
  }
  defined[region.to] = 1;
  return { name: 'image', bytes, defined };
}

/** A chip that holds nothing, noise, the image already, or nearly so. */
function drawContents(random: Random, seated: Part, image: Image): Uint8Array {
  const kind = random.below(4);
  if (kind === 0) return new Uint8Array(seated.cells).fill(0xff);
  const contents = random.bytes(seated.cells);
  if (kind === 1) return contents;
  image.bytes.forEach((byte, cell) => {
    if (image.defined[cell] === 1 && cell < contents.length) contents[cell] = byte;
  });
  if (kind === 3) for (let i = 0; i < 6; i++) contents[random.below(contents.length)] = random.below(256);
  return contents;
}

/** Raw binary knows no holes and begins at 0, so only an image that does so is put in it. */
function fileOf(random: Random, image: Image): Scenario['file'] {
  const end = image.defined.lastIndexOf(1) + 1;
  const whole = image.defined.subarray(0, end).every((flag) => flag === 1);
  if (whole && random.chance(0.5)) return { name: 'image.bin', bytes: image.bytes.slice(0, end) };
  const format = random.pick(['hex', 'srec'] as const);
  return { name: `image.${format}`, bytes: writeImage(image, format) };
}

interface Drawing {
  readonly random: Random;
  readonly said: Part;
  readonly file: string;
  readonly region: { readonly from: number; readonly to: number };
}

/** The first commands are those that a bench sees most often. */
const commands: readonly Step['command'][] = [
  ...(['burn', 'burn', 'burn', 'burn', 'burn', 'verify', 'verify'] as const),
  ...(['blank', 'dump', 'erase', 'restore', 'restore', 'protect', 'unprotect', 'rig', 'conform'] as const),
];

function drawStep(drawing: Drawing, command: Step['command'], index: number): Step {
  const { random, said, file, region } = drawing;
  const argv: string[] = [command];
  let { from, to } = command === 'burn' || command === 'verify' ? { from: 0, to: said.cells - 1 } : region;
  if (command === 'burn' || command === 'verify') argv.push(file);
  if (command === 'restore') argv.push('<kept>');
  if (command === 'dump') argv.push('-o', `dump${index}.${random.pick(['bin', 'hex'])}`, '--overwrite');
  const ranged = ['blank', 'dump', 'erase'].includes(command) || (argv[1] === file && random.chance(0.3));
  if (ranged) {
    // Its last cell stays inside, so that an image always says something about it.
    from = region.from + random.below(region.to - region.from + 1);
    to = command === 'burn' || command === 'verify' ? region.to : from + random.below(region.to - from + 1);
    if (command !== 'burn' && random.chance(0.5)) ({ from, to } = region);
    argv.push('--range', spellRange({ from, to }));
  }
  // Without it the person is asked whether the scratch chip is seated.
  if (command === 'rig') argv.push('--scratch', ...(random.chance(0.5) ? ['--yes'] : []));
  if (command === 'conform') argv.push('--scratch');
  if (['restore', 'protect', 'unprotect', 'rig', 'conform'].includes(command)) [from, to] = [0, said.cells - 1];
  const writes = ['burn', 'erase', 'restore'].includes(command);
  const discards = writes && random.chance(0.08);
  const dryRun = command === 'burn' && random.chance(0.05);
  if (discards) argv.push('--discard');
  if (dryRun) argv.push('--dry-run');
  if (command === 'burn' && said.protection.value && random.chance(0.12)) argv.push('--protected');
  if (command === 'dump' && random.chance(0.3)) argv.push('--passes', '3');
  const json = random.chance(0.25);
  if (json) argv.push('--json');
  if (random.chance(0.15)) argv.push('--quiet');
  // A writer is held to the protocol at the rate of its greeting.
  if (command !== 'conform' && random.chance(0.2))
    argv.push('--rate', random.pick(['115200', '250000', '500000', '1000000']));
  argv.push('--chip', said.name, '--port', 'bench');
  return { command, argv, from, to, json, dryRun, discards };
}

/** The run of one seed. */
export function drawScenario(seed: number, sizes: Sizes): Scenario {
  const random = seededRandom(seed);
  const { said, seated } = drawParts(random, sizes);
  const region = drawRegion(random, said, sizes);
  const image = drawImage(random, said, region);
  const contents = drawContents(random, seated, image);
  const file = fileOf(random, image);
  const drawing: Drawing = { random, said, file: file.name, region };
  const count = 1 + random.below(3);
  const steps: Step[] = [];
  while (steps.length < count) {
    const command = random.pick(commands);
    const codes = command === 'protect' || command === 'unprotect';
    if (codes && !said.protection.value) continue;
    // Something must be in the keep before it can be restored.
    if (command === 'restore' && steps.length === 0) steps.push(drawStep(drawing, 'burn', 0));
    steps.push(drawStep(drawing, command, steps.length));
  }
  return {
    seed,
    said,
    seated,
    cycleUs: Math.max(100, Math.round(seated.cycleMaxUs.value * (0.3 + 0.7 * random.next()))),
    contents,
    image,
    file,
    steps,
    answerDelayMs: random.pick([0, 0, 1, 16]),
    resetsOnOpen: random.chance(0.8),
    chainReturn: random.chance(0.9),
  };
}
