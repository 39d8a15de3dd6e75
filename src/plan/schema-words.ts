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

/** A word over eight chips. */
const mostOutputs = 64;

/** Both ways of writing outputs, as an example that can be copied. */
const bothWays = 'outputs: [lamp, horn] where each is one bit, outputs: { lamp: 1, level: 2 } where widths differ';
const outputsCount = `1 to ${mostOutputs} outputs: ${bothWays}`;
const widthOfOutput = wholeNumber(
  1,
  31,
  'the width of the output in bits, 1 to 31, as in outputs: { lamp: 1, level: 2 }',
);
const nameInList = v.pipe(v.string(`the name of an output alone: ${bothWays}`), nameSchema);

/** Outputs with their widths, as `{ level: 3 }`, or as a list of names that are one bit each. */
export const outputsSchema = v.union(
  [
    v.pipe(v.record(nameSchema, widthOfOutput), v.minEntries(1, outputsCount), v.maxEntries(mostOutputs, outputsCount)),
    v.pipe(
      v.array(nameInList),
      v.minLength(1, outputsCount),
      v.maxLength(mostOutputs, outputsCount),
      v.checkItems((name, index, all) => all.indexOf(name) === index, 'another name: every output is named once'),
    ),
  ],
  `a list or a map: ${bothWays}`,
);

/** Outputs as written to name -> width. */
export const widthsOf = (written: v.InferOutput<typeof outputsSchema>): ReadonlyMap<string, number> =>
  new Map(Array.isArray(written) ? written.map((name) => [name, 1] as const) : Object.entries(written));

/** The same for outputs of contents that are wrong elsewhere; null where the outputs are wrong themselves. */
export function widthsIfGood(written: unknown): ReadonlyMap<string, number> | null {
  const outputs = readable(outputsSchema, written);
  return outputs && widthsOf(outputs);
}

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
