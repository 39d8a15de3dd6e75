// What a display may have chosen by a field: one value, or `{ by: unit, to: { celsius: 1/2, fahrenheit: 9/10 } }`.
import * as v from 'valibot';
import { type Complaints, meantOrKnown } from './complaints.js';
import { nameSchema } from './schema-words.js';
import { sayField } from './setting-words.js';
import type { Fields } from './table.js';
import { readChoice } from './value-choice.js';
import { everyValue, sayTaken } from './value-range.js';

/** One value, or one for every value of a field. */
export const chosenSchema = <S extends v.GenericSchema>(one: S, said: string) =>
  v.union(
    [one, v.strictObject({ by: nameSchema, to: v.record(v.string(), one) })],
    `${said}, or { by: field, to: { value: ... } }`,
  );

/** A word or a number, or a map of such. */
type One = string | number;
interface ByField<T> {
  readonly by: string;
  readonly to: Readonly<Record<string, T>>;
}

export interface Chosen<T> {
  /** The field that chooses; null where nothing does. */
  readonly by: string | null;
  /** By the field's value; every value that it can have is there. */
  at(value: number): T;
}

const isByField = <T extends One>(written: T | ByField<T>): written is ByField<T> => typeof written === 'object';

/** Every text that may stand under a key, with its path inside the key. */
export const alternatives = <T extends One>(
  written: T | ByField<T> | undefined,
): (readonly [T, readonly string[]])[] => {
  if (written === undefined) return [];
  return isByField(written)
    ? Object.entries(written.to).map(([value, one]) => [one, ['to', value]] as const)
    : [[written, []]];
};

/** Reads what stands under `key`; `read` makes of each value what the display needs. Null where something is wrong. */
export function readChosen<T extends One, R>(
  key: string,
  written: NoInfer<T> | ByField<NoInfer<T>>,
  read: (one: T, path: readonly string[]) => R | null,
  fields: Fields,
  complaints: Complaints,
): Chosen<R> | null {
  if (!isByField<T>(written)) {
    const one = read(written, [key]);
    return one === null ? null : { by: null, at: () => one };
  }
  const field = fields.get(written.by);
  if (!field) {
    complaints.error('field.unknown', `There is no field "${written.by}".`, meantOrKnown(written.by, fields.keys()), [
      key,
      'by',
    ]);
    return null;
  }
  const byValue = new Map<number, R>();
  let isSound = true;
  const wrong = (message: string, why: string, path: readonly string[]): void => {
    complaints.errorAtKey('display.choice', message, why, path);
    isSound = false;
  };
  for (const [name, one] of Object.entries(written.to)) {
    const path = [key, 'to', name];
    const choice = readChoice(name, field);
    const value = read(one, path);
    if (typeof choice === 'string') wrong(`"${choice}" is no value of ${field.name}.`, `${sayTaken(field)}.`, path);
    else {
      const twice = choice.values.find((carried) => byValue.has(carried));
      if (twice !== undefined)
        wrong(`"${key}" is told twice for ${sayField(field.name, twice, fields)}.`, 'Each value chooses once.', path);
      if (value !== null) for (const carried of choice.values) byValue.set(carried, value);
    }
    isSound &&= value !== null;
  }
  const missing = everyValue(field).find((carried) => !byValue.has(carried));
  if (isSound && missing !== undefined)
    wrong(
      `"${key}" says nothing for ${sayField(field.name, missing, fields)}.`,
      `Say it for every value that ${field.name} can have.`,
      [key, 'to'],
    );
  return isSound ? { by: field.name, at: (value) => byValue.get(value)! } : null;
}
