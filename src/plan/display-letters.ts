// Which letters a display can show: the digits of its font, the builder's own glyphs, and letters for the words that it shows.
import type { Complaints } from './complaints.js';
import type { DisplayContents } from './decimal-display.js';
import { alternatives } from './display-choice.js';
import { type FontName, fontsWithLetters, segmentFonts, segmentsOfLetters, wordLetters } from './segment-font.js';
import type { Path } from './table.js';

/** Where nothing is said: a font that has all digits of the radix. */
const fontOf = ({ font, radix }: DisplayContents): FontName => font ?? (radix === 16 ? 'hex' : 'ls247');

/** Digits that the display's font, or the plan, gives a look that is meant as that digit. */
export const digitsWithLook = (contents: DisplayContents): string[] => {
  const own = new Set(Object.keys(contents.glyphs ?? {}).map((letter) => letter.toUpperCase()));
  const isWhole = fontsWithLetters.includes(fontOf(contents));
  return digitLetters(contents.radix).filter((letter) => letter < 'A' || isWhole || own.has(letter));
};

const digitLetters = (radix: number): string[] =>
  Array.from({ length: radix }, (_, digit) => digit.toString(16).toUpperCase());

/** Letters by their segments, known by their capitals: blank, `-`, digits, letters of words, and over all the builder's own glyphs. */
export function readGlyphs(contents: DisplayContents, complaints: Complaints): Map<string, number> {
  const { radix } = contents;
  const font = fontOf(contents);
  const own = readOwnGlyphs(contents, complaints);
  const named = Object.fromEntries(Object.keys(contents.glyphs ?? {}).map((letter) => [letter.toUpperCase(), true]));
  const glyphs = new Map<string, number>([
    [' ', 0],
    ['-', segmentsOfLetters('g')!],
  ]);
  for (const [digit, letter] of digitLetters(radix).entries()) glyphs.set(letter, segmentFonts[font][digit]!);
  const looks = digitsWithLook(contents);
  const lacking = digitLetters(radix).filter((letter) => !looks.includes(letter));
  if (lacking.length > 0) {
    const why = `Take font: ${fontsWithLetters.join(' or ')}, or give them segments under "glyphs".`;
    const message = `The font ${font} has no letters for the digits ${lacking.join(', ')}, and shows what that decoder shows above 9.`;
    complaints.warning('display.font', message, why, ['font']);
  }
  for (const { letter, what, path } of lettersShown(contents)) {
    // A glyph whose segments are wrong was thought of all the same.
    if (glyphs.has(letter) || letter in named) continue;
    const segments = wordLetters[letter];
    if (segments !== undefined) glyphs.set(letter, segmentsOfLetters(segments)!);
    else complainOfLetter(letter, what, path, complaints);
  }
  for (const [letter, segments] of own) glyphs.set(letter, segments);
  return glyphs;
}

function readOwnGlyphs({ glyphs }: DisplayContents, { error }: Complaints): Map<string, number> {
  const own = new Map<string, number>();
  for (const [letter, segments] of Object.entries(glyphs ?? {})) {
    const bits = segmentsOfLetters(segments);
    if (bits !== null) own.set(letter.toUpperCase(), bits);
    else {
      const message = `The glyph "${letter}" has the segments "${segments}", which are not letters from a to g, each once.`;
      const why = 'Segments are named a (top), b, c clockwise, d (bottom), e, f, and g (middle).';
      error('display.glyph', message, why, ['glyphs', letter]);
    }
  }
  return own;
}

/** Every letter that stands in a text of the plan, once a text. */
function* lettersShown(contents: DisplayContents) {
  const { overflow, unit, texts = [] } = contents;
  const shown: (readonly [text: string, what: string, path: Path])[] = [
    ...texts.map(({ show }, i) => [show, 'in a text', ['texts', i, 'show']] as const),
    ...alternatives<string>(unit).map(([text, path]) => [text, 'behind the number', ['unit', ...path]] as const),
  ];
  if (typeof overflow === 'object') shown.push([overflow.show, 'on overflow', ['overflow', 'show']]);
  for (const [text, what, path] of shown)
    for (const letter of new Set(text.toUpperCase())) yield { letter, what, path };
}

function complainOfLetter(letter: string, what: string, path: Path, { error }: Complaints): void {
  const letters = Object.keys(wordLetters).join(' ');
  const example = /[A-Z]/.test(letter) ? letter : 'K';
  const why = `Every font has digits, blank, - and ${letters}; give another its segments under "glyphs", e.g. "${example}": bcefg.`;
  error('display.no-glyph', `There is no glyph for "${letter}", which shows ${what}.`, why, path);
}
