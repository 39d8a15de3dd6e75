// Where a microprogram goes after each row, as far as its codes say it with `goes`.

import { type Complaints, nearest } from '../complaints.js';
import type { Dispatch } from './dispatch-table.js';
import type { MicroField } from './micro-field.js';
import { casesOf, type MicroCase, type Microprogram } from './microprogram.js';

export type Destination =
  | { readonly kind: 'address'; readonly address: number }
  | { readonly kind: 'dispatch'; readonly dispatch: Dispatch }
  /** Hardware outside the store decides, e.g. a return address. */
  | { readonly kind: 'elsewhere' };

/** One `goes` word in its meaning for a row, or null where the word means nothing. */
function destinationOf(program: Microprogram, row: MicroCase, word: string): Destination | null {
  if (word === 'elsewhere') return { kind: 'elsewhere' };
  if (word === 'next') return { kind: 'address', address: row.address + 1 };
  const field = program.fields.findIndex((f) => f.name === word && f.holdsAddress);
  if (field >= 0) return { kind: 'address', address: row.values[field]! };
  const dispatch = program.dispatches.find((d) => d.name === word);
  if (dispatch !== undefined) return { kind: 'dispatch', dispatch };
  const label = program.labels.get(word);
  return label === undefined ? null : { kind: 'address', address: label };
}

/** Complains about `goes` words that mean nothing. */
export function checkFlowWords(program: Microprogram, dispatches: readonly string[], { error }: Complaints): void {
  const places = program.fields.filter((f) => f.holdsAddress).map((f) => f.name);
  const known = ['next', 'elsewhere', ...places, ...dispatches];
  for (const field of program.fields) {
    for (const [name, code] of field.codes) {
      const words = (['goes', 'never'] as const).flatMap((key) => code[key].map((word) => ({ key, word })));
      for (const { key, word } of words.filter(({ word: w }) => !known.includes(w) && !program.labels.has(w))) {
        const message = `"${key}: ${word}" names no place${nearest(word, [...known, ...program.labels.keys()])}.`;
        const why = `It can be a label, or one of ${known.join(', ')}.`;
        error('goes.unknown', message, why, ['word', field.name, 'codes', name, key], { unknown: word });
      }
    }
  }
}

/** True where some code of the plan says where it goes. */
export const saysFlow = (fields: readonly MicroField[]): boolean =>
  fields.some((field) => [...field.codes.values()].some((code) => code.goes.length > 0));

/** Everywhere a row can go. */
export const destinationsOf = (program: Microprogram, row: MicroCase): readonly Destination[] =>
  flowWordsOf(program, row).flatMap((word) => destinationOf(program, row, word) ?? []);

/** The `goes` words that hold for a row. */
export function flowWordsOf(program: Microprogram, row: MicroCase): readonly string[] {
  const codes = program.fields.flatMap((field, i) => field.byValue.get(row.values[i]!) ?? []);
  const never = codes.flatMap((code) => code.never);
  const words = [...new Set(codes.flatMap((code) => code.goes))];
  const left = words.filter((word) => !never.includes(word));
  return left.length > 0 ? left : words;
}

/** The addresses behind a destination; none where it is elsewhere. */
export const addressesOf = (destination: Destination): readonly number[] =>
  destination.kind === 'address'
    ? [destination.address]
    : destination.kind === 'dispatch'
      ? [...new Set(destination.dispatch.targets.filter((t) => t !== undefined))]
      : [];

/** Addresses that can be met: from the start, and where hardware outside decides from every label too. */
export function reachable(program: Microprogram): ReadonlySet<number> {
  const met = new Set<number>();
  const outside = casesOf(program).some((row) => destinationsOf(program, row).some((d) => d.kind === 'elsewhere'));
  const waiting = [program.start, ...(outside ? program.labels.values() : [])];
  for (let address = waiting.pop(); address !== undefined; address = waiting.pop()) {
    if (met.has(address)) continue;
    met.add(address);
    const row = program.rows.get(address);
    for (const one of row?.cases ?? []) waiting.push(...destinationsOf(program, one).flatMap(addressesOf));
  }
  return met;
}
