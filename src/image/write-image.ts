// An image as the bytes of a file: raw binary, Intel HEX, Motorola S-records or memory text.
import nrfIntelHex from 'nrf-intel-hex';
import { bytesOfText } from '../ground/byte-text.js';
import { definedRuns } from './defined-runs.js';
import type { Image } from './image.js';
import type { ImageFormat } from './image-format.js';
import { memoryTextOf } from './memory-text-writer.js';
import { sRecordsOf } from './s-record-writer.js';

// The package's types describe an ES module, but Node loads its CommonJS form, where the class itself is the export.
const MemoryMap = nrfIntelHex as unknown as typeof nrfIntelHex.default;

export interface WriteImageOptions {
  /** What raw binary holds where the image says nothing; FF, what an erased cell reads, where it is not given. */
  readonly fill?: number | undefined;
  /** The file's address of cell 0; 0 where it is not given. */
  readonly base?: number | undefined;
}

/** The image as raw bytes, undefined cells filled (FF, what an erased cell reads). */
export const filledBytes = (image: Image, fill = 0xff): Uint8Array =>
  image.bytes.map((byte, cell) => (image.defined[cell] === 1 ? byte : fill));

/** The bytes of a file. Raw binary carries all cells, so that it forgets which were defined; the other formats the defined ones. */
export function writeImage(image: Image, format: ImageFormat, options: WriteImageOptions = {}): Uint8Array {
  if (format === 'bin') return filledBytes(image, options.fill);
  const base = options.base ?? 0;
  const blocks = definedRuns(image).map((r): [number, Uint8Array] => [
    r.from + base,
    image.bytes.subarray(r.from, r.to + 1),
  ]);
  const text = {
    hex: () => `${new MemoryMap(blocks).asHexString()}\n`,
    srec: () => sRecordsOf(image.name, blocks),
    memh: () => memoryTextOf(blocks),
  };
  return bytesOfText(text[format]());
}
