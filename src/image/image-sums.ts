// Numbers that stand for an image: a digest, and the short sums that people compare by eye.
import { createHash } from 'node:crypto';
import { byteSum, crc32IsoHdlc } from '../ground/check-sums.js';
import type { Image } from './image.js';
import { filledBytes } from './write-image.js';

/**
 * SHA-256 in lower-case hexadecimal of all cells as a raw binary file holds them, undefined ones FF: what other programs
 * say of that file, too.
 */
export const sha256Of = (image: Image): string => createHash('sha256').update(filledBytes(image)).digest('hex');

export interface ImageSums {
  /** CRC-32/ISO-HDLC. */
  readonly crc32: number;
  /** Sum of all bytes modulo 256 and modulo 65536 (common practice, no source). */
  readonly sum8: number;
  readonly sum16: number;
}

/** Sums over all cells, undefined ones as FF (what an erased cell reads). */
export function sumsOf(image: Image): ImageSums {
  const bytes = filledBytes(image);
  return { crc32: crc32IsoHdlc(bytes), sum8: byteSum(bytes, 8), sum16: byteSum(bytes, 16) };
}
