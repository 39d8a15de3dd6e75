// The rows of a truth table read from a plan: which settings each matches, and what it gives there.
import * as v from 'valibot';
import type { Complaints } from './complaints.js';
import { nameSchema } from './schema-words.js';
import type { Fields, Path } from './table.js';
import { type Choice, readChoice, readValue } from './value-choice.js';
import { sayTaken } from './value-range.js';

const written = v.union([v.number(), v.string()], 'a number, a name, a range such as 3..5, bits such as 0b1-0, or any');

export const givesSchema = v.record(nameSchema, written);
export const whenSchema = v.record(nameSchema, v.union([written, v.array(written)], 'a value or a list of values'));

type When = v.InferOutput<typeof whenSchema>;

/** By output in the table's order: a value, null for a don't care, undefined where nothing is said. */
export type Gives = readonly (number | null | undefined)[];

export interface TruthRow {
  /** By input in the table's order. */
  readonly matches: readonly Choice[];
  readonly gives: Gives;
  readonly about: string | null;
}

export const rowName = (row: TruthRow, index: number): string =>
  `row ${index + 1}${row.about ? ` ("${row.about}")` : ''}`;

/** The values of the inputs that a row names; an input that it does not name, or wrongly, may have any. */
export function readWhen(
  when: When,
  inputs: Iterable<string>,
  fields: Fields,
  path: Path,
  complaints: Complaints,
): Choice[] {
  for (const name of Object.keys(when)) {
    if (!fields.has(name)) complaints.unknownName('field', name, fields.keys(), [...path, name]);
  }
  return [...inputs].map((name) => {
    const field = fields.get(name)!;
    const choice = readChoice(when[name] ?? 'any', field);
    if (typeof choice !== 'string') return choice;
    const why = `${sayTaken(field)}; a range 3..5, bits 0b1-0, one of its names, or any.`;
    complaints.error('field.value', `"${choice}" is no value of ${name}.`, why, [...path, name]);
    return readChoice('any', field) as Choice;
  });
}

/** Reads `give` or `default`. */
export function readGives(
  given: v.InferOutput<typeof givesSchema>,
  outputs: Fields,
  path: Path,
  complaints: Complaints,
): Gives {
  const names = [...outputs.keys()];
  const values = names.map((): number | null | undefined => undefined);
  for (const [name, text] of Object.entries(given)) {
    const output = outputs.get(name);
    if (output === undefined) {
      complaints.unknownName('output', name, names, [...path, name]);
      continue;
    }
    const dontCare = text === 'any' || text === '-';
    const value = dontCare ? null : readValue(text, output);
    values[names.indexOf(name)] = value;
    if (dontCare || value !== null) continue;
    const words = output.names.size > 0 ? `, one of ${[...output.names.values()].join(', ')}` : '';
    const why = `${sayTaken(output)}${words}, or any for don't care.`;
    complaints.error('output.value', `"${text}" is no value of ${name}.`, why, [...path, name]);
  }
  return values;
}

/** All cells of a grid whose setting a row matches; the first input counts slowest. */
export function cellsOf(matches: readonly Choice[], widths: readonly number[]): readonly number[] {
  return matches.reduce<readonly number[]>(
    (cells, { values }, k) => cells.flatMap((cell) => values.map((value) => (cell << widths[k]!) | value)),
    [0],
  );
}
