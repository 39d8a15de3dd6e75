// Values of a field as a plan writes them: one, several, a range, bits with don't cares, a name, or any.
import { readNumber } from './schema-words.js';
import type { Field } from './table.js';

/** The values that are meant, in rising order. */
export interface Choice {
  readonly values: readonly number[];
  has(value: number): boolean;
}

/** The set is made when it is first asked for: most choices are only gone through. */
const choiceOf = (values: readonly number[]): Choice => {
  let set: ReadonlySet<number> | undefined;
  const has = (value: number): boolean => {
    set ??= new Set(values);
    return set.has(value);
  };
  return { values, has };
};

const every = (bits: number): number[] => Array.from({ length: 2 ** bits }, (_, i) => i);

/** Reads values of a field. Gives back the text that cannot be read, or that does not fit, as it stands. */
export function readChoice(written: string | number | readonly (string | number)[], field: Field): Choice | string {
  const read: number[][] = [];
  for (const part of [written].flat() as (string | number)[]) {
    const values = readPart(part, field);
    if (values === null || values.some((n) => n < 0 || n >= 2 ** field.bits)) return String(part);
    read.push(values);
  }
  const [first, ...more] = read;
  if (first === undefined) return 'an empty list';
  // Each part comes in rising order and without repetition; only several of them have to be sorted into each other.
  return choiceOf(more.length === 0 ? first : [...new Set(read.flat())].sort((a, b) => a - b));
}

/** One value of a field: a number that fits, or one of its names; null for anything else. */
export function readValue(written: unknown, field: Field): number | null {
  const text = typeof written === 'string' ? written.trim() : null;
  const value = [...field.names].find(([, name]) => name === text)?.[0] ?? readNumber(written);
  return value !== null && value >= 0 && value < 2 ** field.bits ? value : null;
}

function readPart(written: string | number, field: Field): number[] | null {
  if (typeof written === 'string') {
    const text = written.trim();
    if (text === '-' || text === 'any') return every(field.bits);
    const named = [...field.names].filter(([, name]) => name === text).map(([value]) => value);
    if (named.length > 0) return named;
    const ends = text.split('..');
    if (ends.length === 2) return readRange(readValue(ends[0], field), readValue(ends[1], field));
    if (/^0b[01-]*-[01-]*$/i.test(text)) return readPattern(text.slice(2), field.bits);
  }
  const value = readNumber(written);
  return value === null ? null : [value];
}

function readRange(from: number | null, to: number | null): number[] | null {
  if (from === null || to === null || from > to) return null;
  return Array.from({ length: to - from + 1 }, (_, i) => from + i);
}

/** `1-0`: every value with these bits, where - is either. All bits have to be written. */
function readPattern(pattern: string, bits: number): number[] | null {
  if (pattern.length !== bits) return null;
  return [...pattern].reduce<number[]>(
    (values, bit) => values.flatMap((n) => (bit === '-' ? [n * 2, n * 2 + 1] : [n * 2 + Number(bit)])),
    [0],
  );
}
