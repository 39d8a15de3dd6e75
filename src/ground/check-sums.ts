// The check sums of the tool, by their catalogue names (Greg Cook, Catalogue of parametrised CRC algorithms).
import crc16ccitt from 'crc/crc16ccitt';
import crc32 from 'crc/crc32';

/** The crc package is typed for Buffer only; this views the same memory, nothing is copied. */
const view = (bytes: Uint8Array): Buffer => Buffer.from(bytes.buffer, bytes.byteOffset, bytes.length);

/** CRC-16/IBM-3740: poly 1021, init FFFF, not reflected, xorout 0000, check 29B1. Guards every protocol line. */
export const crc16Ibm3740 = (bytes: Uint8Array): number => crc16ccitt(view(bytes));

/** CRC-32/ISO-HDLC: poly 04C11DB7, init FFFFFFFF, reflected, xorout FFFFFFFF, check CBF43926. `previous` continues a sum. */
export const crc32IsoHdlc = (bytes: Uint8Array, previous?: number): number => crc32(view(bytes), previous) >>> 0;

/** The sum of all bytes modulo 2^bits, as printed by many PROM programmers (common practice, no source). */
export const byteSum = (bytes: Uint8Array, bits: 8 | 16): number => {
  let sum = 0;
  for (const b of bytes) sum = (sum + b) & 0xffff;
  return bits === 8 ? sum & 0xff : sum;
};
