// Segment fonts against the data sheets' tables, row by row, and the display plans built from them.
import { describe, expect, it } from 'vitest';
import { crc32IsoHdlc } from '../../src/ground/check-sums.js';
import { buildPlan, planOfObject } from '../../src/plan/plan.js';
import { type FontName, lettersOfSegments, segmentFonts, segmentsOfLetters } from '../../src/plan/segment-font.js';

// Columns a to g. National DM74LS48, TL/F/10172, truth table (active high).
const ls48 = [
  '1111110',
  '0110000',
  '1101101',
  '1111001',
  '0110011',
  '1011011',
  '0011111',
  '1110000',
  '1111111',
  '1110011',
  '0001101',
  '0011001',
  '0100011',
  '1001011',
  '0001111',
  '0000000',
];
// Motorola SN54/74LS47, FAST AND LS TTL DATA p. 5-57 (active low: 0 lights the segment).
const ls47 = [
  '0000001',
  '1001111',
  '0010010',
  '0000110',
  '1001100',
  '0100100',
  '1100000',
  '0001111',
  '0000000',
  '0001100',
  '1110010',
  '1100110',
  '1011100',
  '0110100',
  '1110000',
  '1111111',
];
// Motorola SN54/74LS247-249: the same except 6 and 9, which have tails; the bit rows from memory.
const ls247 = ls48.map((row, i) => (i === 6 ? '1011111' : i === 9 ? '1111011' : row));
// National CD4511BM/BC, TL/F/5991: dark above 9.
const cd4511 = [...ls48.slice(0, 10), ...Array(6).fill('0000000')];
// Hexadecimal as in teaching tables: A b C d E F, 6 and 9 with tails.
const hex = [...ls247.slice(0, 10), '1110111', '0011111', '1001110', '0111101', '1001111', '1000111'];

/** A plan of one digit: 4 bits in, segments out at the pins given, so that the whole road to the byte is tested. */
function imageOf(font: FontName, order: 'a=bit0' | 'a=bit6', common: 'cathode' | 'anode' = 'cathode'): Uint8Array {
  const plan = planOfObject(
    {
      plan: 'one-digit',
      fields: { number: 4 },
      contents: { kind: 'decimal-display', value: 'number', radix: 16, font, common },
      roms: {
        digit: {
          chip: '28C16',
          address: { number: 'A0..A3', low: 'A4..A10' },
          data: Object.fromEntries([
            ...[...'abcdefg'].map((s, i) => [s, `D${order === 'a=bit0' ? i : 6 - i}`]),
            ['unused', 'D7'],
          ]),
        },
      },
    },
    'one-digit.js',
  );
  return buildPlan(plan)[0]!
    .image.bytes.slice(0, 16)
    .map((b) => b & 0x7f);
}

const hexText = (bytes: Uint8Array): string => Buffer.from(bytes).toString('hex').toUpperCase();
/** A row as the pins read with a on bit 6. */
const asBytes = (rows: readonly string[]): Uint8Array => Uint8Array.from(rows, (row) => Number.parseInt(row, 2));

describe('segment fonts', () => {
  it.each([
    ['ls48', ls48],
    ['ls247', ls247],
    ['ls248', ls247],
    ['ls249', ls247],
    ['cd4511', cd4511],
    ['hex', hex],
  ] as const)('when %s is built with a common cathode then every row is as printed', (font, rows) => {
    expect(hexText(imageOf(font, 'a=bit6'))).toBe(hexText(asBytes(rows)));
  });

  it('when LS47 is built with a common anode then every row is as Motorola prints it, the exact complement of LS48', () => {
    expect(hexText(imageOf('ls47', 'a=bit6', 'anode'))).toBe(hexText(asBytes(ls47)));
    expect(imageOf('ls47', 'a=bit6', 'anode')).toEqual(imageOf('ls48', 'a=bit6').map((b) => b ^ 0x7f));
  });

  // Check values computed from the tables above by a script of their own, not by this project.
  it.each([
    ['ls48', 'a=bit0', '3F065B4F666D7C077F67584C62697800', 0xe036e1c4],
    ['ls48', 'a=bit6', '7E306D79335B1F707F730D19234B0F00', 0xf7de5095],
    ['hex', 'a=bit0', '3F065B4F666D7D077F6F777C395E7971', 0x68f1c0a5],
    ['hex', 'a=bit6', '7E306D79335B5F707F7B771F4E3D4F47', 0xfe83625f],
  ] as const)('when %s is packed with %s then bytes and CRC-32 are the known ones', (font, order, bytes, crc) => {
    const image = imageOf(font, order);
    expect(hexText(image)).toBe(bytes);
    expect(crc32IsoHdlc(image)).toBe(crc);
  });

  it('when a hexadecimal 6 has no tail then it equals b, which is why the hex font has tails', () => {
    expect(segmentFonts.ls48[6]).toBe(segmentFonts.hex[11]);
    expect(new Set(segmentFonts.hex).size).toBe(16);
  });

  it('when segments are written as letters then they read back, and mistakes are refused', () => {
    expect(segmentsOfLetters('abged')).toBe(segmentFonts.ls48[2]);
    expect(lettersOfSegments(segmentFonts.ls48[2]!)).toBe('abdeg');
    expect(segmentsOfLetters('')).toBe(0);
    expect(segmentsOfLetters('abh')).toBeNull();
    expect(segmentsOfLetters('aba')).toBeNull();
    expect(lettersOfSegments(0)).toBe('none');
    expect(lettersOfSegments(0x80)).toBe('point');
  });
});
