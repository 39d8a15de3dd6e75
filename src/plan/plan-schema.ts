// The outer shape of a plan: its fields, its ROMs and their pins. Contents have schemas of their own, one a kind.
import * as v from 'valibot';
import { aboutSchema, nameSchema, wholeNumber, widthSchema } from './schema-words.js';

const saidValues = 'the values that the field can have, e.g. -2..7 or [0..5, 7]';
const oneValue = v.union([v.number(), v.string()], saidValues);

const detailedField = v.strictObject({
  bits: widthSchema,
  signed: v.optional(v.boolean('true or false'), false),
  /** The values that the field can have, where that is not all: `-2..7`. */
  values: v.optional(v.union([oneValue, v.pipe(v.array(oneValue), v.minLength(1, 'at least one value'))], saidValues)),
  scanned: v.optional(v.boolean('true or false'), false),
  /** The builder's names for single values: `{ raw: 0, signed: 1 }`. */
  names: v.optional(v.record(nameSchema, wholeNumber(-(2 ** 23), 2 ** 24 - 1)), {}),
  about: aboutSchema,
});

export const fieldSchema = v.union(
  [widthSchema, detailedField],
  'a width in bits, or { bits: 2, scanned: true, names: {...} }',
);

const pinText = v.pipe(v.string(), v.maxLength(200, 'pins, e.g. A3, A0..A7 or A0 A4 A2'));
const pinsSchema = v.union(
  [pinText, v.pipe(v.array(pinText), v.maxLength(32, 'at most 32 pins'))],
  'pins, e.g. A3 or [A0, A4..A7]',
);

export const romSchema = v.strictObject({
  about: aboutSchema,
  chip: v.string('the name of a part, e.g. 28C16'),
  address: v.record(v.string(), pinsSchema),
  data: v.record(v.string(), pinsSchema),
  fixed: v.optional(v.record(nameSchema, v.union([v.number(), v.string()], 'a value of the field')), {}),
  /** Contents of this ROM alone, in place of the plan's. Checked by kind. */
  contents: v.optional(v.unknown()),
});

/** Keys of the whole plan; what stands under them is checked part by part, so that one mistake hides no other. */
export const planSchema = v.strictObject({
  plan: nameSchema,
  about: aboutSchema,
  fields: v.optional(v.unknown()),
  contents: v.optional(v.unknown()),
  fill: v.optional(v.union([v.literal('leave'), wholeNumber(0, 255)], 'leave, or a byte from 0 to 0xFF'), 'leave'),
  roms: v.unknown(),
});
