// The form of a control store by opcode, step and flags in a plan file.
import * as v from 'valibot';
import { aboutSchema, nameSchema, wholeNumber, widthSchema } from '../schema-words.js';

/** A number as it stands in a control store. */
export const whole = wholeNumber(0, 2 ** 24 - 1, 'a number such as 5, 0x1F or 0b101');
export const oneOrMore = v.union([nameSchema, v.array(nameSchema)], 'one name, or a list of names');
const value = v.union([v.number(), v.string()], 'a number, a range such as 4..7, or a name');
const values = v.union([value, v.array(value)], 'a value, or a list of values');

/** `source=vane reading.take`, or a list of such. */
const lines = v.union([v.string(), v.array(v.string())], 'control lines in one text, or as a list');
/** Flags and the values they must have, all of them together. */
const condition = v.record(v.string(), values);

const stepCase = v.strictObject({
  when: v.optional(condition),
  do: lines,
});

const step = v.union(
  [
    v.string(),
    v.array(v.string()),
    v.strictObject({ do: v.optional(lines), when: v.optional(condition), cases: v.optional(v.array(stepCase)) }),
  ],
  'names of control lines; or do with when; or cases, each with when and do',
);

/** What a line does while it is asserted, or an encoded one at one of its codes. */
const meaning = {
  drives: v.optional(oneOrMore),
  loads: v.optional(oneOrMore),
  counts: v.optional(nameSchema),
  steps: v.optional(v.picklist(['restart', 'hold', 'stop'], 'restart, hold or stop')),
  changes: v.optional(oneOrMore),
};

const code = v.union(
  [whole, v.strictObject({ code: whole, ...meaning })],
  'a number, or code with drives, loads, counts, steps or changes',
);

const line = v.strictObject({
  about: aboutSchema,
  bits: v.optional(widthSchema),
  codes: v.optional(v.record(nameSchema, code)),
  default: v.optional(v.union([whole, v.string()])),
  active: v.optional(v.picklist(['high', 'low'], 'high or low')),
  ...meaning,
});

export const bus = v.strictObject({ undriven: v.optional(v.picklist([0, 1, 'unknown'], '0, 1 or unknown')) });

const instruction = v.strictObject({ about: aboutSchema, opcode: values, steps: v.array(step) });

export const stepSchema = v.strictObject({
  kind: v.literal('control-by-step'),
  about: aboutSchema,
  opcode: v.string(),
  step: v.string(),
  flags: v.optional(v.array(v.string())),
  steady: v.optional(v.array(v.string())),
  impossible: v.optional(v.array(condition)),
  buses: v.optional(v.record(nameSchema, bus)),
  lines: v.record(nameSchema, v.nullable(line)),
  first: v.optional(v.array(step)),
  instructions: v.record(nameSchema, instruction),
  unused: v.optional(
    v.strictObject({
      opcodes: v.optional(v.string()),
      steps: v.optional(v.picklist(['idle', 'restart', 'wrap', 'undefined'], 'idle, restart, wrap or undefined')),
    }),
  ),
});

export type StepContents = v.InferOutput<typeof stepSchema>;
export type StepSpec = v.InferOutput<typeof step>;
/** Null where a line is named and nothing said about it. */
export type LineSpec = v.InferOutput<typeof line> | null;
export type LineMeaning = Pick<v.InferOutput<typeof line>, keyof typeof meaning>;
export type Condition = v.InferOutput<typeof condition>;
