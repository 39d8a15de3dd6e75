// Seven-segment fonts as the decoder chips' data sheets print them. Segments are bits: a = bit 0 .. g = bit 6.

/** `1111110` in the data sheets' order a b c d e f g, as bits. */
const ofRow = (row: string): number => [...row].reduce((bits, lit, i) => bits | (Number(lit) << i), 0);

const rows = (text: string): readonly number[] => text.trim().split(/\s+/).map(ofRow);

// National DM74LS48 (TL/F/10172), truth table, and Motorola SN54/74LS47 (FAST AND LS TTL DATA p. 5-57), active low there:
// 6 and 9 without tails, symbols above 9, 15 dark. Read.
const ls48 = rows(`
  1111110 0110000 1101101 1111001 0110011 1011011 0011111 1110000
  1111111 1110011 0001101 0011001 0100011 1001011 0001111 0000000`);

const with69 = (font: readonly number[], six: string, nine: string): readonly number[] =>
  font.map((bits, digit) => (digit === 6 ? ofRow(six) : digit === 9 ? ofRow(nine) : bits));

// Motorola SN54/74LS247-249: as LS47/48 except 6 and 9, which have tails. The sentence read, the two rows from memory.
const ls248 = with69(ls48, '1011111', '1111011');

// National CD4511BM/BC (TL/F/5991): digits as LS48, dark above 9. Read.
const cd4511 = [...ls48.slice(0, 10), ...new Array<number>(6).fill(0)];

// A b C d E F as teaching tables print them; the tailless 6 would be a b, so 6 and 9 have tails. Read.
const hex = [...ls248.slice(0, 10), ...rows('1110111 0011111 1001110 0111101 1001111 1000111')];

/** Fonts by the decoder that has them; sixteen rows each, for 0 to 15. */
export const segmentFonts = {
  ls47: ls48,
  ls48,
  ls247: ls248,
  ls248,
  ls249: ls248,
  cd4511,
  hex,
} as const;

/** Fonts that have letters from A to F as their digits above 9. */
export const fontsWithLetters: readonly FontName[] = ['hex'];

/**
 * Letters and signs for words, in the looks that seven segments leave them (common practice, no source). Capital and small
 * letters are one: there is one look for each.
 */
export const wordLetters: Readonly<Record<string, string>> = {
  A: 'abcefg',
  B: 'cdefg',
  C: 'adef',
  D: 'bcdeg',
  E: 'adefg',
  F: 'aefg',
  G: 'acdef',
  H: 'bcefg',
  I: 'bc',
  J: 'bcde',
  L: 'def',
  N: 'ceg',
  O: 'abcdef',
  P: 'abefg',
  Q: 'abcfg',
  R: 'eg',
  S: 'acdfg',
  T: 'defg',
  U: 'bcdef',
  Y: 'bcdfg',
  '°': 'abfg',
  _: 'd',
  '=': 'dg',
};

export type FontName = keyof typeof segmentFonts;
export const fontNames = Object.keys(segmentFonts) as readonly FontName[];

const segmentLetters = 'abcdefg';
export const pointBit = 0x80;

/** `abc` as bits, or null where a letter is no segment or comes twice. An empty text is a dark digit. */
export function segmentsOfLetters(letters: string): number | null {
  let bits = 0;
  for (const letter of letters.replace(/\s/g, '')) {
    const bit = segmentLetters.indexOf(letter);
    if (bit < 0 || (bits >> bit) & 1) return null;
    bits |= 1 << bit;
  }
  return bits;
}

/** Bits as letters, e.g. `abc`, with ` and point`; `none` where all is dark. */
export function lettersOfSegments(bits: number): string {
  const letters = [...segmentLetters].filter((_, i) => (bits >> i) & 1).join('');
  if (!(bits & pointBit)) return letters || 'none';
  return letters ? `${letters} and point` : 'point';
}
