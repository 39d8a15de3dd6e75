// The file formats an image can have, told by the file's name or by what is in it.
import { startsMemoryText } from './memory-text-reader.js';

export type ImageFormat = 'bin' | 'hex' | 'srec' | 'memh';

export const imageFormats: readonly ImageFormat[] = ['bin', 'hex', 'srec', 'memh'];

/** The formats as people call them. */
export const formatNames: Readonly<Record<ImageFormat, string>> = {
  bin: 'raw binary',
  hex: 'Intel HEX',
  srec: 'S-records',
  memh: 'memory text',
};

/** Names in use for each format (common practice, no source). */
const suffixes: Readonly<Record<string, ImageFormat>> = {
  bin: 'bin',
  rom: 'bin',
  raw: 'bin',
  hex: 'hex',
  ihx: 'hex',
  ihex: 'hex',
  srec: 'srec',
  mot: 'srec',
  s19: 'srec',
  s28: 'srec',
  s37: 'srec',
  memh: 'memh',
  mem: 'memh',
};

/** The format that a file's name ends in, or null. */
export function formatOfName(file: string): ImageFormat | null {
  const suffix = /\.([a-z0-9]+)$/i.exec(file)?.[1]?.toLowerCase();
  return suffix !== undefined && Object.hasOwn(suffixes, suffix) ? suffixes[suffix]! : null;
}

/** The format that the first line looks like; raw binary when it is no record. */
export function formatOfContent(bytes: Uint8Array): ImageFormat {
  // The longest record has 521 characters; looking further into a file without line ends would tell nothing.
  const start = Buffer.from(bytes.subarray(0, 600)).toString('latin1');
  if (/^\s*:(?:[0-9a-f]{2}){5,}\s*(?:\r|\n|$)/i.test(start)) return 'hex';
  if (/^\s*S\d(?:[0-9a-f]{2}){4,}\s*(?:\r|\n|$)/i.test(start)) return 'srec';
  return startsMemoryText(start) ? 'memh' : 'bin';
}
