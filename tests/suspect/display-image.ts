// A display's table, built here so that the tests of this room lean on no plan: 2K x 8, bits scattered as on a board.
import type { Image } from '../../src/image/image.js';

/** Address line of level bit 0..6, of place bit 0..1 (place 0 leftmost), of signed, and of zeros (leading zeros are shown). */
export const skerryPins = { level: [4, 1, 7, 0, 9, 3, 10], place: [2, 8], signed: 5, zeros: 6 } as const;

/** Segment a..g on these data lines; D7 is unused and stays low. Digits without tails, as on the 74LS48. */
export const segmentLines = [3, 0, 6, 1, 4, 2, 5] as const;

const segmentsOf: Record<string, string> = {
  '0': 'abcdef',
  '1': 'bc',
  '2': 'abdeg',
  '3': 'abcdg',
  '4': 'bcfg',
  '5': 'acdfg',
  '6': 'cdefg',
  '7': 'abc',
  '8': 'abcdefg',
  '9': 'abcfg',
  '-': 'g',
  ' ': '',
};

export const bitsOf = (value: number, pins: readonly number[]): number =>
  pins.reduce((bits, pin, i) => bits | (((value >> i) & 1) << pin), 0);

export const segmentByte = (character: string): number =>
  [...segmentsOf[character]!].reduce((byte, s) => byte | (1 << segmentLines['abcdefg'.indexOf(s)]!), 0);

export const shown = (level: number, signed: boolean, zeros: boolean): string => {
  const value = signed && level > 63 ? level - 128 : level;
  const digits = String(Math.abs(value));
  const sign = value < 0 ? '-' : '';
  return zeros ? sign + digits.padStart(4 - sign.length, '0') : (sign + digits).padStart(4);
};

export const skerryAddress = (level: number, signed: number, zeros: number, place: number): number =>
  bitsOf(level, skerryPins.level) |
  bitsOf(place, skerryPins.place) |
  (signed << skerryPins.signed) |
  (zeros << skerryPins.zeros);

export const skerryDisplay = (): Image => {
  const bytes = new Uint8Array(2048);
  for (let level = 0; level < 128; level++)
    for (const signed of [0, 1])
      for (const zeros of [0, 1])
        for (let place = 0; place < 4; place++)
          bytes[skerryAddress(level, signed, zeros, place)] = segmentByte(
            shown(level, signed === 1, zeros === 1)[place]!,
          );
  return { name: 'skerry-digits', bytes, defined: new Uint8Array(2048).fill(1) };
};

/** A control store of the usual kind: opcode, step and flags to eight lines, most of them idle, unused opcodes all idle. */
export const controlStore = (addressLines: number, seed: { below(n: number): number }): Image => {
  const bytes = new Uint8Array(2 ** addressLines);
  const words = new Map<number, number>();
  for (let a = 0; a < bytes.length; a++) {
    const opcode = a & 31;
    const stepNumber = (a >> 5) & 15;
    const flags = opcode % 7 === 3 ? a >> 9 : 0;
    if (opcode > 21 || stepNumber > 2 + (opcode % 5)) continue;
    const key = (opcode << 16) | (stepNumber << 8) | flags;
    if (!words.has(key))
      words.set(key, stepNumber < 2 ? 0x11 << stepNumber : (1 << seed.below(8)) | (1 << seed.below(8)));
    bytes[a] = words.get(key)!;
  }
  return { name: 'control', bytes, defined: new Uint8Array(bytes.length).fill(1) };
};
