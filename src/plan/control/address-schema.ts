// The form of a control store by microaddress in a plan file.
import * as v from 'valibot';
import { aboutSchema, nameSchema, widthSchema } from '../schema-words.js';
import { bus, oneOrMore, whole } from './step-schema.js';

/** Where the store goes after a row: `next`, `elsewhere`, the name of an address field or dispatch table, or a label. */
const destinations = v.union(
  [v.string(), v.array(v.string())],
  'next, elsewhere, an address field, a dispatch table or a label',
);

const code = v.union(
  [
    whole,
    v.strictObject({
      code: whole,
      drives: v.optional(oneOrMore),
      loads: v.optional(oneOrMore),
      goes: v.optional(destinations),
      never: v.optional(destinations),
    }),
  ],
  'a number, or code with drives, loads, goes or never',
);

const field = v.strictObject({
  about: aboutSchema,
  bits: v.optional(widthSchema, 1),
  codes: v.optional(v.record(nameSchema, code)),
  holds: v.optional(v.literal('address', 'address')),
  default: v.optional(v.union([whole, v.string()])),
  active: v.optional(v.picklist(['high', 'low'], 'high or low')),
  drives: v.optional(oneOrMore),
  loads: v.optional(oneOrMore),
});

const target = v.union([whole, v.string()], 'a label, or a number');

const dispatch = v.strictObject({
  about: aboutSchema,
  by: v.string(),
  codes: v.optional(v.record(nameSchema, whole)),
  to: v.record(v.string(), target),
  otherwise: v.optional(target),
});

export const addressSchema = v.strictObject({
  kind: v.literal('control-by-address'),
  about: aboutSchema,
  address: v.string(),
  /** Fields besides the address that rows ask for with `when`. */
  inputs: v.optional(v.array(v.string())),
  word: v.record(nameSchema, v.nullable(field)),
  buses: v.optional(v.record(nameSchema, bus)),
  dispatch: v.optional(v.record(nameSchema, dispatch)),
  following: v.optional(nameSchema),
  start: v.optional(v.union([whole, v.string()])),
  program: v.string(),
  unused: v.optional(v.string()),
});

export type AddressContents = v.InferOutput<typeof addressSchema>;
export type FieldSpec = v.InferOutput<typeof field>;
