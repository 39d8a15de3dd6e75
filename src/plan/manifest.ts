// What was built: for every image its size, digest and check sums, in the order of the plan.
import { createHash } from 'node:crypto';
import { hex } from '../ground/byte-text.js';
import { byteSum, crc32IsoHdlc } from '../ground/check-sums.js';
import type { Image } from '../image/image.js';

export interface ImageSums {
  readonly cells: number;
  /** How many of the cells are defined. */
  readonly defined: number;
  /** SHA-256 of the bytes as a binary file holds them: undefined cells FF. */
  readonly sha256: string;
  readonly crc32: string;
  readonly sum8: string;
  readonly sum16: string;
}

export interface Manifest {
  readonly plan: string;
  readonly roms: readonly ({ readonly name: string; readonly chip: string; readonly file: string } & ImageSums)[];
}

/** The bytes as they stand in a binary file: undefined cells FF, the value of an erased cell. */
export const bytesInFile = (image: Image): Uint8Array => image.bytes.map((byte, i) => (image.defined[i] ? byte : 0xff));

export function sumsOf(image: Image): ImageSums {
  const bytes = bytesInFile(image);
  return {
    cells: bytes.length,
    defined: image.defined.reduce((n, d) => n + d, 0),
    sha256: createHash('sha256').update(bytes).digest('hex'),
    crc32: hex(crc32IsoHdlc(bytes), 8),
    sum8: hex(byteSum(bytes, 8)),
    sum16: hex(byteSum(bytes, 16), 4),
  };
}

/** `fileOf` names the file that holds an image, as the manifest's reader will find it. */
export function manifestOf(
  plan: string,
  built: readonly { readonly name: string; readonly chip: string; readonly image: Image }[],
  fileOf: (rom: string) => string,
): Manifest {
  return { plan, roms: built.map(({ name, chip, image }) => ({ name, chip, file: fileOf(name), ...sumsOf(image) })) };
}

/** The manifest as a file holds it: the same plan gives the same text. */
export const manifestText = (manifest: Manifest): string => `${JSON.stringify(manifest, null, 2)}\n`;

/** The name of an image's file: after the plan alone where it has one ROM. `ending` without the dot. */
export const imageFileName = (plan: string, roms: number, rom: string, ending: string): string =>
  roms === 1 ? `${plan}.${ending}` : `${plan}.${rom}.${ending}`;
