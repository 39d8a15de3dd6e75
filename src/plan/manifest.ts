// What was built: for every image its size, digest and check sums, in the order of the plan.
import { hex } from '../ground/byte-text.js';
import { definedCount } from '../image/defined-runs.js';
import type { Image } from '../image/image.js';
import { sha256Of, sumsOf } from '../image/image-sums.js';

interface ImageFacts {
  readonly cells: number;
  /** How many of the cells are defined. */
  readonly defined: number;
  readonly sha256: string;
  readonly crc32: string;
  readonly sum8: string;
  readonly sum16: string;
}

export interface Manifest {
  readonly plan: string;
  readonly roms: readonly ({ readonly name: string; readonly chip: string; readonly file: string } & ImageFacts)[];
}

function factsOf(image: Image): ImageFacts {
  const { crc32, sum8, sum16 } = sumsOf(image);
  return {
    cells: image.bytes.length,
    defined: definedCount(image),
    sha256: sha256Of(image),
    crc32: hex(crc32, 8),
    sum8: hex(sum8),
    sum16: hex(sum16, 4),
  };
}

/** `fileOf` names the file that holds an image, as the manifest's reader will find it. */
export function manifestOf(
  plan: string,
  built: readonly { readonly name: string; readonly chip: string; readonly image: Image }[],
  fileOf: (rom: string) => string,
): Manifest {
  return { plan, roms: built.map(({ name, chip, image }) => ({ name, chip, file: fileOf(name), ...factsOf(image) })) };
}

/** The manifest as a file holds it: the same plan gives the same text. */
export const manifestText = (manifest: Manifest): string => `${JSON.stringify(manifest, null, 2)}\n`;

/** The name of an image's file: after the plan alone where it has one ROM. `ending` without the dot. */
export const imageFileName = (plan: string, roms: number, rom: string, ending: string): string =>
  roms === 1 ? `${plan}.${ending}` : `${plan}.${rom}.${ending}`;
