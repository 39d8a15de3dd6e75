// The fields of a plan read from its `fields`, and values that a ROM fixes for some of them.
import * as v from 'valibot';
import { tiedWords } from './address-pins.js';
import type { Complaints } from './complaints.js';
import { fieldSchema } from './plan-schema.js';
import { checkShape, isMap } from './schema-mistake.js';
import { nameShape } from './schema-words.js';
import type { Field, Fields } from './table.js';
import { readChoice, readValue } from './value-choice.js';
import { bitsOfNumber, canHave, sayTaken } from './value-range.js';

/** `broken` are the names of fields whose declaration is wrong: that nobody knows them elsewhere is no news. */
export interface Declared {
  readonly fields: Fields;
  readonly broken: ReadonlySet<string>;
}

export function readFields(entries: readonly (readonly [string, unknown])[], complaints: Complaints): Declared {
  const fields = new Map<string, Field>();
  const broken = new Set<string>();
  for (const [name, written] of entries) {
    const path = ['fields', name];
    complainOfName(name, complaints);
    const { output, findings } = checkShape(fieldSchema, written, `The field "${name}"`);
    complaints.under(path).add(findings);
    const declared = output ?? soundDeclaration(written);
    if (declared === null) {
      broken.add(name);
      continue;
    }
    fields.set(name, fieldOf(name, declared, complaints.under(path)));
  }
  return { fields, broken };
}

/** A field, or an output, from its declaration; findings count from the declaration. */
export function fieldOf(name: string, declared: Declaration, here: Complaints): Field {
  const { bits, scanned, signed, names, values } = detailed(declared);
  const bare: Field = { name, bits, signed, scanned, names: new Map(), values: null };
  // A range of values may begin with a name, and a name may stand for a value that the field does not have.
  const named: Field = { ...bare, names: new Map(carriedNames(bare, names).map(([word, carried]) => [carried, word])) };
  const can = values === undefined ? null : readChoice(values, named);
  if (typeof can === 'string')
    here.error('field.value', `"${can}" is no value of ${name}.`, `${sayTaken(bare)}, or a range such as 2..5.`, [
      'values',
    ]);
  const field: Field = { ...bare, values: can === null || typeof can === 'string' ? null : new Set(can.values) };
  const good = new Map(carriedNames(field, names));
  for (const [word, number] of Object.entries(names)) {
    if (good.has(word)) continue;
    const message = `${number} ("${word}") is no value of ${name}.`;
    here.error('field.value', message, `${sayTaken(field)}.`, ['names', word]);
  }
  return { ...field, names: new Map([...good].map(([word, carried]) => [carried, word])) };
}

/** Names with the bits that they stand for, without those of values that the field does not have. */
const carriedNames = (field: Field, names: Readonly<Record<string, number>>): [string, number][] =>
  Object.entries(names).flatMap(([word, number]) => {
    const carried = bitsOfNumber(field, number);
    return carried !== null && canHave(field, carried) ? [[word, carried]] : [];
  });

type Declaration = v.InferOutput<typeof fieldSchema>;

const detailed = (written: Declaration): Exclude<Declaration, number> =>
  typeof written === 'number' ? { bits: written, signed: false, scanned: false, names: {} } : written;

/** With something else wrong, what can be read of the rest is enough to judge what depends on the field. */
function soundDeclaration(written: unknown): Declaration | null {
  if (!isMap(written)) return null;
  const [, { entries }] = fieldSchema.options;
  const sound = Object.entries(entries).filter(
    ([key, schema]) => key === 'bits' || key === 'names' || (key in written && v.is(schema, written[key])),
  );
  const { success, output } = v.safeParse(
    fieldSchema,
    Object.fromEntries(sound.flatMap(([key]) => (key in written ? [[key, written[key]]] : []))),
  );
  return success ? output : null;
}

function complainOfName(name: string, { errorAtKey }: Complaints): void {
  const message = `"${name}" cannot be the name of a field.`;
  if (tiedWords.has(name)) {
    errorAtKey('field.name', message, 'The words low, high and unused name pins that carry no field.', [
      'fields',
      name,
    ]);
  } else if (!nameShape.test(name) || name.length > 64) {
    errorAtKey('field.name', message, 'A name has letters, digits, - and _ and begins with a letter.', [
      'fields',
      name,
    ]);
  }
}

/** Fields that have one value for a ROM, by number or by the builder's name for it. */
export function readFixed(
  written: Readonly<Record<string, string | number>>,
  fields: Fields,
  complaints: Complaints,
): ReadonlyMap<string, number> {
  const fixed = new Map<string, number>();
  for (const [name, value] of Object.entries(written)) {
    const field = fields.get(name);
    if (!field) {
      complaints.unknownName('field', name, fields.keys(), ['fixed', name]);
      continue;
    }
    const carried = readValue(value, field);
    if (carried !== null) fixed.set(name, carried);
    else complaints.error('field.value', `"${value}" is no value of ${name}.`, `${sayTaken(field)}.`, ['fixed', name]);
  }
  return fixed;
}
