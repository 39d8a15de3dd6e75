// The small schemas that several parts of a plan share, each with what would have been right as its message.
import * as v from 'valibot';

export const nameShape = /^[A-Za-z][\w-]*(?:\.[A-Za-z][\w-]*)*$/;

/** A name of a field, an output or a ROM. */
export const nameSchema = v.pipe(
  v.string('a name in letters, digits, - and _'),
  v.regex(nameShape, 'a name in letters, digits, - and _ that begins with a letter; parts may be joined by dots'),
  v.maxLength(64, 'a name of at most 64 characters'),
);

/** A whole number between two bounds, both included. */
export const wholeNumber = (least: number, most: number) => {
  const said = `a whole number from ${least} to ${most}`;
  return v.pipe(v.number(said), v.integer(said), v.minValue(least, said), v.maxValue(most, said));
};

export const widthSchema = wholeNumber(1, 24);
export const aboutSchema = v.optional(v.string('a text about it'));

/** A word over eight chips. */
const mostOutputs = 64;

/** Outputs with their widths, as `{ level: 3 }`, or as a list of names that are one bit each. */
export const outputsSchema = v.union(
  [
    v.pipe(v.record(nameSchema, wholeNumber(1, 31)), v.maxEntries(mostOutputs, `at most ${mostOutputs} outputs`)),
    v.pipe(v.array(nameSchema), v.maxLength(mostOutputs, `at most ${mostOutputs} outputs`)),
  ],
  'a list of names, or names with their widths in bits',
);

/** Outputs as written to name -> width. */
export const widthsOf = (written: v.InferOutput<typeof outputsSchema>): ReadonlyMap<string, number> =>
  new Map(Array.isArray(written) ? written.map((name) => [name, 1] as const) : Object.entries(written));

/** A number as YAML reads it, or as text in the forms 0b101 and 0x1F; null where it is none. */
export function readNumber(written: unknown): number | null {
  if (typeof written === 'number') return Number.isSafeInteger(written) ? written : null;
  if (typeof written !== 'string') return null;
  const text = written.trim().replace(/_/g, '');
  return /^(?:0b[01]+|0x[0-9a-f]+|\d+)$/i.test(text) && text.length < 40 ? Number(text) : null;
}
