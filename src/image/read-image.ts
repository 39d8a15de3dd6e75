// An image from the bytes of a file: raw binary, Intel HEX, Motorola S-records or memory text.
import { ToolError } from '../ground/errors.js';
import { type CellBounds, cellsMax } from './cell-map.js';
import { definedCount, gapsOf } from './defined-runs.js';
import type { Image } from './image.js';
import { formatNames, formatOfContent, formatOfName, type ImageFormat } from './image-format.js';
import { readIntelHex } from './intel-hex-reader.js';
import { readMemoryText } from './memory-text-reader.js';
import { spellRange } from './range.js';
import { type ImageWarning, ReadingLog } from './reading-log.js';
import { readSRecords } from './s-record-reader.js';

export interface ReadImageOptions {
  /** The file's name, as the user named it: for messages, and for its suffix. */
  readonly file: string;
  /** Told by the name, else by the content, where it is not given. */
  readonly format?: ImageFormat | undefined;
  /** Cells of the chip: the image gets this length, and addresses beyond it are errors. */
  readonly size?: number | undefined;
  /** The file's address of cell 0; 0 where it is not given. Raw binary has no addresses and begins at cell 0. */
  readonly base?: number | undefined;
}

export interface ReadImage {
  readonly image: Image;
  readonly format: ImageFormat;
  readonly warnings: readonly ImageWarning[];
}

/**
 * Reads an image. Without `size` it ends with the last cell that the file defines, at most 1 MiB from `base`.
 * Throws ToolError, or ToolErrors with up to ten mistakes, each with file, line and column (codes image.*).
 */
export function readImage(bytes: Uint8Array, options: ReadImageOptions): ReadImage {
  const { file } = options;
  const format = options.format ?? formatOfName(file) ?? formatOfContent(bytes);
  const log = new ReadingLog();
  const bounds: CellBounds = { cells: options.size ?? null, base: options.base ?? 0 };
  const image = read(bytes, file, format, bounds, log);
  log.throwMistakes();
  warnOfGaps(image, log);
  return { image, format, warnings: log.warnings };
}

function read(bytes: Uint8Array, file: string, format: ImageFormat, bounds: CellBounds, log: ReadingLog): Image {
  if (format === 'hex') return readIntelHex(bytes, file, bounds, log);
  if (format === 'srec') return readSRecords(bytes, file, bounds, log);
  if (format === 'memh') return readMemoryText(bytes, file, bounds, log);
  const looks = formatOfContent(bytes);
  if (looks !== 'bin') {
    log.warn('looks-like', () => `${file} is read as raw binary, but looks like ${formatNames[looks]}.`);
  }
  return readRaw(bytes, file, bounds);
}

function readRaw(raw: Uint8Array, file: string, bounds: CellBounds): Image {
  const cells = bounds.cells ?? Math.min(raw.length, cellsMax);
  if (raw.length > cells) throw new ToolError('image.too-large', { file, sizeBytes: raw.length, cells });
  const bytes = new Uint8Array(cells).fill(0xff);
  bytes.set(raw);
  return { name: file, bytes, defined: new Uint8Array(cells).fill(1, 0, raw.length) };
}

function warnOfGaps(image: Image, log: ReadingLog): void {
  const gaps = gapsOf(image);
  for (const gap of gaps) {
    log.warn('gap', (n) => {
      const first = spellRange(gap);
      return n === 1
        ? `${image.name} says nothing about ${first}, between bytes that it defines.`
        : `${image.name} has ${n} gaps between the bytes that it defines, the first at ${first}.`;
    });
  }
  if (definedCount(image) === 0) log.warn('empty', () => `${image.name} defines no byte at all.`);
}
