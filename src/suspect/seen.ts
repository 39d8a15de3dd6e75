// What a person typed of what was seen: digits as they look, segments where it is no digit, or lines that are lit.
import { ToolError } from '../ground/errors.js';
import { nearNames } from '../ground/near-names.js';
import type { Shows, Sight } from './circuit.js';

/** Masks that one digit may have had; null for any. */
type Looks = readonly number[] | null;

export type Seen =
  | { readonly kind: 'unknown' }
  | { readonly kind: 'digits'; readonly looks: readonly Looks[] }
  | { readonly kind: 'lines'; readonly mask: number };

const segmentLetters = 'abcdefg.';

const maskOf = (segments: string): number =>
  [...segments].reduce((mask, letter) => mask | (1 << segmentLetters.indexOf(letter)), 0);

/** Shapes that people call by these letters, whatever the plan's font (common practice, no source). */
const shapes: Readonly<Record<string, readonly string[]>> = {
  '0': ['abcdef'],
  '1': ['bc'],
  '2': ['abdeg'],
  '3': ['abcdg'],
  '4': ['bcfg'],
  '5': ['acdfg'],
  '6': ['acdefg', 'cdefg'],
  '7': ['abc', 'abcf'],
  '8': ['abcdefg'],
  '9': ['abcdfg', 'abcfg'],
  '-': ['g'],
  _: ['d'],
  ' ': [''],
};

/** Every look that this letter may stand for. */
const looksOf = (shows: Extract<Shows, { kind: 'digits' }>, letter: string): number[] => {
  const own = shows.segmentsOf(letter);
  const common = (shapes[letter] ?? []).map(maskOf);
  return [...new Set([...(own === null ? [] : [own]), ...common])];
};

const wrong = (text: string, column: number, problem: string, right: string): never => {
  throw new ToolError('suspect.answer', { text, column, problem, right });
};

const digitsNotation =
  'Type the digits as you see them, [abg] for lit segments, [] for a dark digit, ? for one you cannot read.';

const readDigits = (shows: Extract<Shows, { kind: 'digits' }>, text: string): Seen => {
  const looks: Looks[] = [];
  for (let i = 0; i < text.length; i++) {
    const letter = text[i]!;
    let found: Looks;
    if (letter === '[') {
      const end = text.indexOf(']', i);
      const inside = end < 0 ? '' : text.slice(i + 1, end).toLowerCase();
      if (end < 0) wrong(text, i + 1, 'the bracket is not closed', digitsNotation);
      const bad = [...inside].findIndex((s, at) => !segmentLetters.includes(s) || inside.indexOf(s) !== at);
      if (bad >= 0)
        wrong(
          text,
          i + 2 + bad,
          `"${inside[bad]}" is no segment, or stands twice`,
          'Segments are a to g, and . for the point.',
        );
      found = [maskOf(inside)];
      i = end;
    } else if (letter === '?') found = null;
    else {
      found = looksOf(shows, letter);
      if (found.length === 0) wrong(text, i + 1, `"${letter}" is no digit of this display`, digitsNotation);
      if (text[i + 1] === '.') {
        found = found!.map((mask) => mask | 128);
        i++;
      }
    }
    looks.push(found);
  }
  if (looks.length > shows.count)
    wrong(text, 1, `these are ${looks.length} digits and the display has ${shows.count}`, digitsNotation);
  return { kind: 'digits', looks };
};

const readLines = (names: readonly string[], text: string): Seen => {
  if (/^(none|nothing)$/i.test(text)) return { kind: 'lines', mask: 0 };
  let mask = 0;
  for (const match of text.matchAll(/[^\s,]+/g)) {
    const at = names.indexOf(match[0]);
    if (at < 0) {
      const near = nearNames(match[0], [...names])[0];
      wrong(
        text,
        match.index + 1,
        `there is no line "${match[0]}"`,
        near === undefined ? `Lines are: ${names.join(', ')}; or none.` : `Did you mean "${near}"?`,
      );
    }
    mask |= 1 << at;
  }
  return { kind: 'lines', mask };
};

/** Reads an answer. Spaces around it do not count: a short answer may stand anywhere on an otherwise dark display. Throws suspect.answer. */
export const readSeen = (shows: Shows, text: string): Seen => {
  const said = text.trim();
  if (/^(\?|don.?t know|unknown)$/i.test(said)) return { kind: 'unknown' };
  if (shows.kind === 'lines') {
    if (said === '')
      wrong(text, 1, 'nothing is typed', 'Name the lit lines, or type none, or ? where you do not know.');
    return readLines(shows.names, said);
  }
  if (/^(dark|none|nothing)$/i.test(said)) return { kind: 'digits', looks: [[0]] };
  if (said === '') wrong(text, 1, 'nothing is typed', 'For a dark display type dark, and ? where you do not know.');
  return readDigits(shows, said);
};

const fits = (looks: readonly Looks[], sight: Sight, from: number): boolean =>
  sight.every((mask, i) => {
    const look = i < from || i >= from + looks.length ? [0] : looks[i - from]!;
    return mask === -1 || look === null || look.includes(mask);
  });

/** True when this is what may have been seen. */
export const agrees = (seen: Seen, sight: Sight): boolean => {
  if (seen.kind === 'unknown') return true;
  if (seen.kind === 'lines') return sight[0] === -1 || sight[0] === seen.mask;
  for (let from = 0; from + seen.looks.length <= sight.length; from++) if (fits(seen.looks, sight, from)) return true;
  return false;
};

/** A sight as a person would type it exactly; for scripted builders and for showing what was expected. */
export const typed = (shows: Shows, sight: Sight): string => {
  if (shows.kind === 'lines') {
    const lit = shows.names.filter((_, i) => ((sight[0] ?? 0) >> i) & 1);
    return sight[0] === -1 ? '?' : lit.length === 0 ? 'none' : lit.join(', ');
  }
  return sight.map((mask) => (mask === -1 ? '?' : digitOf(shows, mask))).join('');
};

const digitOf = (shows: Extract<Shows, { kind: 'digits' }>, mask: number): string => {
  const bare = mask & 127;
  for (const letter of '0123456789ABCDEF-')
    if (shows.segmentsOf(letter) === bare && looksOf(shows, letter).length === 1)
      return mask === bare ? letter : `${letter}.`;
  return `[${[...segmentLetters].filter((_, i) => (mask >> i) & 1).join('')}]`;
};
