// Check sums that are stored beside the bytes they guard: each with its published parameters, worked out from them.

/** A CRC as the catalogue writes it (Greg Cook, Catalogue of parametrised CRC algorithms): refin and refout are one here. */
interface Crc {
  readonly width: 8 | 16 | 32;
  readonly poly: number;
  readonly init: number;
  readonly reflected: boolean;
  readonly xorout: number;
}

interface Sum {
  readonly width: 8 | 16;
  /** The two's complement is stored, so that bytes and sum together come to 0. */
  readonly negated: boolean;
}

/** What the sum of the nine characters 123456789 is; of the CRCs the catalogue's check value. */
interface Checked {
  readonly check: number;
}

const crc = (
  width: Crc['width'],
  poly: number,
  init: number,
  reflected: boolean,
  xorout: number,
  check: number,
): Crc & Checked => ({ width, poly, init, reflected, xorout, check });

/** The sums are common practice without a source; sum-8-negated is the sum of an Intel HEX record. */
export const publishedSums = {
  'sum-8': { width: 8, negated: false, check: 0xdd },
  'sum-8-negated': { width: 8, negated: true, check: 0x23 },
  'sum-16': { width: 16, negated: false, check: 0x01dd },
  'crc-8/smbus': crc(8, 0x07, 0x00, false, 0x00, 0xf4),
  'crc-16/xmodem': crc(16, 0x1021, 0x0000, false, 0x0000, 0x31c3),
  'crc-16/ibm-3740': crc(16, 0x1021, 0xffff, false, 0x0000, 0x29b1),
  'crc-16/kermit': crc(16, 0x1021, 0x0000, true, 0x0000, 0x2189),
  'crc-16/arc': crc(16, 0x8005, 0x0000, true, 0x0000, 0xbb3d),
  'crc-16/modbus': crc(16, 0x8005, 0xffff, true, 0x0000, 0x4b37),
  'crc-32/iso-hdlc': crc(32, 0x04c11db7, 0xffffffff, true, 0xffffffff, 0xcbf43926),
  'crc-32/bzip2': crc(32, 0x04c11db7, 0xffffffff, false, 0xffffffff, 0xfc891918),
} as const satisfies Readonly<Record<string, (Crc | Sum) & Checked>>;

export type SumName = keyof typeof publishedSums;

export const sumNames = Object.keys(publishedSums) as readonly SumName[];

/** The sum of these bytes, as a number of its width. */
export function publishedSum(name: SumName, bytes: Iterable<number>): number {
  const row: Crc | Sum = publishedSums[name];
  return 'poly' in row ? crcOf(row, bytes) : sumOf(row, bytes);
}

function sumOf({ width, negated }: Sum, bytes: Iterable<number>): number {
  let sum = 0;
  for (const byte of bytes) sum = (sum + byte) & 0xffff;
  return (negated ? -sum : sum) & (2 ** width - 1);
}

const reversed = (value: number, width: number): number =>
  Array.from({ length: width }, (_, bit) => ((value >>> bit) & 1) * 2 ** (width - 1 - bit)).reduce((a, b) => a + b, 0);

const reversedBytes = Uint8Array.from({ length: 256 }, (_, byte) => reversed(byte, 8));

/** Bit by bit, high bit first: the register is kept at the top of 32 bits, whatever its width. */
function crcOf({ width, poly, init, reflected, xorout }: Crc, bytes: Iterable<number>): number {
  const shift = 32 - width;
  let register = init << shift;
  for (const byte of bytes) {
    register ^= (reflected ? reversedBytes[byte]! : byte) << 24;
    for (let bit = 0; bit < 8; bit++) register = (register << 1) ^ (register < 0 ? poly << shift : 0);
  }
  const value = register >>> shift;
  return ((reflected ? reversed(value, width) : value) ^ xorout) >>> 0;
}
