// The fields of a plan read from its `fields`, and values that a ROM fixes for some of them.
import * as v from 'valibot';
import { tiedWords } from './address-pins.js';
import { type Complaints, sayRange } from './complaints.js';
import { fieldSchema } from './plan-schema.js';
import { checkShape, isMap } from './schema-mistake.js';
import { nameShape } from './schema-words.js';
import type { Field, Fields } from './table.js';
import { readValue } from './value-choice.js';

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
    const { bits, scanned, names } = detailed(declared);
    for (const [word, value] of Object.entries(names)) {
      if (value < 2 ** bits) continue;
      complaints.error('field.value', `${value} ("${word}") is no value of ${name}.`, `${sayRange(bits)}.`, [
        ...path,
        'names',
        word,
      ]);
    }
    fields.set(name, { name, bits, scanned, names: new Map(Object.entries(names).map(([word, n]) => [n, word])) });
  }
  return { fields, broken };
}

type Declaration = v.InferOutput<typeof fieldSchema>;

const detailed = (written: Declaration): Exclude<Declaration, number> =>
  typeof written === 'number' ? { bits: written, scanned: false, names: {} } : written;

/** With something else wrong, width and names are enough to judge what depends on the field. */
function soundDeclaration(written: unknown): Declaration | null {
  if (!isMap(written)) return null;
  const { bits, names } = written;
  const { success, output } = v.safeParse(fieldSchema, names === undefined ? { bits } : { bits, names });
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
    const number = readValue(value, field);
    if (number !== null) fixed.set(name, number);
    else
      complaints.error('field.value', `"${value}" is no value of ${name}.`, `${sayRange(field.bits)}.`, [
        'fixed',
        name,
      ]);
  }
  return fixed;
}
