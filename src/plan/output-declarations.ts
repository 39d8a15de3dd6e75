// The outputs of a table read from its contents: widths, names of values, signs, and the fields that outputs feed.
import * as v from 'valibot';
import { type Complaints, meantOrKnown } from './complaints.js';
import { fieldOf } from './field-declarations.js';
import { fieldSchema } from './plan-schema.js';
import { aboutSchema, nameSchema, readable, wholeNumber } from './schema-words.js';
import type { Fields } from './table.js';

/** A word over eight chips. */
const mostOutputs = 64;

/** Both ways of writing outputs, as an example that can be copied. */
const bothWays = 'outputs: [lamp, horn] where each is one bit, outputs: { lamp: 1, level: 2 } where widths differ';
const outputsCount = `1 to ${mostOutputs} outputs: ${bothWays}`;
const saidOutput =
  'the width of the output in bits, 1 to 31, as in outputs: { lamp: 1, level: 2 }; or bits with signed or names; or feeds with a field';
const widthOfOutput = wholeNumber(1, 31, saidOutput);
const nameInList = v.pipe(v.string(`the name of an output alone: ${bothWays}`), nameSchema);
const { signed, names } = fieldSchema.options[1].entries;

const output = v.union(
  [
    widthOfOutput,
    v.strictObject({ bits: widthOfOutput, signed, names, about: aboutSchema }),
    /** It goes back to a field through a register, and has the field's width, sign, values and names. */
    v.strictObject({ feeds: nameSchema, about: aboutSchema }),
  ],
  saidOutput,
);

/** Outputs with what they are, as `{ level: 3 }`, or as a list of names that are one bit each. */
export const outputsSchema = v.union(
  [
    v.pipe(v.record(nameSchema, output), v.minEntries(1, outputsCount), v.maxEntries(mostOutputs, outputsCount)),
    v.pipe(
      v.array(nameInList),
      v.minLength(1, outputsCount),
      v.maxLength(mostOutputs, outputsCount),
      v.checkItems((name, index, all) => all.indexOf(name) === index, 'another name: every output is named once'),
    ),
  ],
  `a list or a map: ${bothWays}`,
);

type WrittenOutputs = v.InferOutput<typeof outputsSchema>;

/** Outputs are to what they give as fields are to what they carry. */
export function readOutputs(written: WrittenOutputs, fields: Fields, complaints: Complaints): Fields {
  const entries = Array.isArray(written) ? written.map((name) => [name, 1] as const) : Object.entries(written);
  return new Map(
    entries.map(([name, declared]) => {
      const here = complaints.under(['outputs', name]);
      if (typeof declared === 'number') return [name, fieldOf(name, declared, here)];
      if ('bits' in declared) return [name, fieldOf(name, { ...declared, scanned: false, values: undefined }, here)];
      const fed = fields.get(declared.feeds);
      if (fed !== undefined) return [name, { ...fed, name, scanned: false }];
      const why = meantOrKnown(declared.feeds, fields.keys());
      here.error('field.unknown', `There is no field "${declared.feeds}".`, why, ['feeds']);
      return [name, fieldOf(name, 1, here)];
    }),
  );
}

export const widthsOf = (outputs: Fields): ReadonlyMap<string, number> =>
  new Map([...outputs].map(([name, { bits }]) => [name, bits]));

/** Widths of outputs whose contents are wrong elsewhere; null where the outputs are wrong themselves, or a field has the width. */
export function widthsIfGood(written: unknown): ReadonlyMap<string, number> | null {
  const outputs = readable(outputsSchema, written);
  if (outputs === null) return null;
  if (Array.isArray(outputs)) return new Map(outputs.map((name) => [name, 1]));
  const widths = Object.entries(outputs).map(
    ([name, one]) => [name, typeof one === 'number' ? one : 'bits' in one ? one.bits : null] as const,
  );
  return widths.some(([, bits]) => bits === null) ? null : new Map(widths as [string, number][]);
}
