// Values of a field as a plan writes them: one, several, a range, bits with don't cares, a name, or any.
import { readNumber } from './schema-words.js';
import type { Field } from './table.js';
import { bitsOfNumber, canHave, everyValue, numberOfBits } from './value-range.js';

/** The values that are meant, as the bits that the field then carries, in the rising order of what they mean. */
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

/** Reads values of a field. Gives back the text that cannot be read, or that does not fit, as it stands. */
export function readChoice(written: string | number | readonly (string | number)[], field: Field): Choice | string {
  const read: (readonly number[])[] = [];
  for (const part of [written].flat() as (string | number)[]) {
    const values = readPart(part, field);
    if (values === null || values.length === 0) return String(part);
    read.push(values);
  }
  const [first, ...more] = read;
  if (first === undefined) return 'an empty list';
  // Each part comes in rising order and without repetition; only several of them have to be sorted into each other.
  if (more.length === 0) return choiceOf(first);
  const rising = (a: number, b: number): number => numberOfBits(field, a) - numberOfBits(field, b);
  return choiceOf([...new Set(read.flat())].sort(rising));
}

/** One value of a field, a number that fits or one of its names, as bits; null for anything else. */
export function readValue(written: unknown, field: Field): number | null {
  const text = typeof written === 'string' ? written.trim() : null;
  return [...field.names].find(([, name]) => name === text)?.[0] ?? readBits(written, field);
}

function readPart(written: string | number, field: Field): readonly number[] | null {
  if (typeof written === 'string') {
    const text = written.trim();
    if (text === '-' || text === 'any') return everyValue(field);
    const named = [...field.names].filter(([, name]) => name === text).map(([value]) => value);
    if (named.length > 0) return named;
    const ends = text.split('..');
    if (ends.length === 2) return readRange(readValue(ends[0], field), readValue(ends[1], field), field);
    if (/^0b[01-]*-[01-]*$/i.test(text)) return readPattern(text.slice(2), field);
  }
  const value = readValue(written, field);
  return value === null ? null : [value];
}

/** One number as the bits that carry it; of a signed field, `0x` and `0b` say the bits themselves. Null where it has no such value. */
function readBits(written: unknown, field: Field): number | null {
  const text = typeof written === 'string' ? written.trim() : '';
  const below = /^-\d/.test(text);
  const number = below ? readNumber(text.slice(1)) : readNumber(written);
  if (number === null) return null;
  const isBits = /^0[bx]/i.test(text);
  const carried = isBits ? number : bitsOfNumber(field, below ? -number : number);
  return carried !== null && canHave(field, carried) ? carried : null;
}

function readRange(from: number | null, to: number | null, field: Field): readonly number[] | null {
  if (from === null || to === null) return null;
  const [least, most] = [numberOfBits(field, from), numberOfBits(field, to)];
  if (least > most) return null;
  return Array.from({ length: most - least + 1 }, (_, i) => bitsOfNumber(field, least + i)!).filter((carried) =>
    canHave(field, carried),
  );
}

/** `1-0`: every value with these bits, where - is either. All bits have to be written. */
function readPattern(pattern: string, field: Field): number[] | null {
  if (pattern.length !== field.bits) return null;
  return [...pattern]
    .reduce<number[]>(
      (values, bit) => values.flatMap((n) => (bit === '-' ? [n * 2, n * 2 + 1] : [n * 2 + Number(bit)])),
      [0],
    )
    .filter((carried) => canHave(field, carried))
    .sort((a, b) => numberOfBits(field, a) - numberOfBits(field, b));
}
