// The small schemas that several parts of a plan share, each with what would have been right as its message.
import * as v from 'valibot';

export const nameShape = /^[A-Za-z][\w-]*(?:\.[A-Za-z][\w-]*)*$/;

/** A name of a field, an output or a ROM. */
export const nameSchema = v.pipe(
  v.string('a name in letters, digits, - and _'),
  v.regex(nameShape, 'a name in letters, digits, - and _ that begins with a letter; parts may be joined by dots'),
  v.maxLength(64, 'a name of at most 64 characters'),
);

/** The forms of a number that YAML hands over as text: all that are quoted, and 0b101, which YAML itself does not know. */
const numberShape = /^(?:0[bB][01_]+|0[xX][\da-fA-F_]+|\d[\d_]*)$/;

/** A whole number between two bounds, both included; `said` is what a sentence calls it. */
export const wholeNumber = (least: number, most: number, said = `a whole number from ${least} to ${most}`) => {
  const inText = v.pipe(
    v.string(said),
    v.regex(numberShape, said),
    v.check((text) => isWithin(readNumber(text), least, most), said),
    v.transform((text) => readNumber(text)!),
  );
  return v.union(
    [v.pipe(v.number(said), v.integer(said), v.minValue(least, said), v.maxValue(most, said)), inText],
    said,
  );
};

const isWithin = (value: number | null, least: number, most: number): boolean =>
  value !== null && value >= least && value <= most;

export const widthSchema = wholeNumber(1, 24);
export const aboutSchema = v.optional(v.string('a text about it'));

/** What a schema makes of this; null where it does not fit. */
export function readable<Value>(schema: v.GenericSchema<unknown, Value>, written: unknown): Value | null {
  const { success, output } = v.safeParse(schema, written);
  return success ? output : null;
}

/** A number as YAML reads it, or as text in the forms 0b101 and 0x1F; null where it is none. */
export function readNumber(written: unknown): number | null {
  if (typeof written === 'number') return Number.isSafeInteger(written) ? written : null;
  if (typeof written !== 'string') return null;
  const text = written.trim().replace(/_/g, '');
  return numberShape.test(text) && text.length < 40 && Number.isSafeInteger(Number(text)) ? Number(text) : null;
}
