// The images that a build puts down together, and the manifest that names them: what belongs together, and what no longer does.
import { basename, dirname, join } from 'node:path';
import { printable } from '../ground/byte-text.js';
import { ToolError } from '../ground/errors.js';
import type { Files } from '../ground/files.js';
import type { Image } from '../image/image.js';
import { sha256Of } from '../image/image-sums.js';
import { readImage } from '../image/read-image.js';

interface NamedImage {
  readonly file: string;
  readonly cells: number;
  readonly sha256: string;
}

const manifestName = /\.manifest\.json$/;

const isNamedImage = (value: unknown): value is NamedImage => {
  const { file, cells, sha256 } = (value ?? {}) as Partial<Record<keyof NamedImage, unknown>>;
  return typeof file === 'string' && Number.isInteger(cells) && typeof sha256 === 'string';
};

/** The images that a manifest names; null where the text is no manifest. */
export function imagesOfManifest(text: Uint8Array): readonly NamedImage[] | null {
  try {
    const { roms } = JSON.parse(Buffer.from(text).toString('utf8')) as { roms?: unknown };
    return Array.isArray(roms) && roms.every(isNamedImage) ? roms : null;
  } catch {
    return null;
  }
}

/** Does this file hold the image that the manifest tells of, in whatever format? */
export function holdsImage(file: string, bytes: Uint8Array, { cells, sha256 }: NamedImage): boolean {
  let image: Image;
  try {
    ({ image } = readImage(bytes, { file, size: cells }));
  } catch {
    return false;
  }
  return sha256Of(image) === sha256;
}

const manifestsBeside = (files: Files, folder: string): readonly string[] => {
  try {
    return files.list(folder).filter((name) => manifestName.test(name));
  } catch (error) {
    // A folder that may be entered and not listed tells nothing.
    if (ToolError.is(error, 'cli.file-unreadable')) return [];
    throw error;
  }
};

/** What is to be said about an image file that a manifest beside it names, where the set does not agree with the manifest. */
export function setRemarks(files: Files, path: string): readonly string[] {
  const folder = dirname(path);
  return manifestsBeside(files, folder).flatMap((name) => {
    const manifest = join(folder, name);
    const images = imagesOfManifest(files.readIfThere(manifest) ?? new Uint8Array());
    if (!images?.some(({ file }) => file === basename(path))) return [];
    const others = images.filter((image) => {
      const bytes = files.readIfThere(join(folder, image.file));
      return bytes === null || !holdsImage(image.file, bytes, image);
    });
    if (others.length === 0) return [];
    const named = others.map(({ file }) => printable(file)).join(', ');
    return [
      `${printable(manifest)} does not agree with ${named}: changed since it was built, or a build that was cut off. Build the plan again.`,
    ];
  });
}
