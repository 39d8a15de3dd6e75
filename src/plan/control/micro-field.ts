// The fields of a microword: lines, encoded fields with named codes, addresses; and what their values are called.

import type { Complaints } from '../complaints.js';
import { readNumber } from '../schema-words.js';
import type { AddressContents, FieldSpec } from './address-schema.js';
import { type Action, type Buses, unknownBuses } from './bus-traffic.js';
import { listOf } from './one-or-more.js';

export interface Code extends Action {
  readonly value: number;
  /** Where the store goes after a row with this code, as written; empty where the code says nothing about it. */
  readonly goes: readonly string[];
  /** Places that this code rules out where others are left: an unconditional jump never goes to `next`. */
  readonly never: readonly string[];
}

export interface MicroField {
  readonly name: string;
  readonly bits: number;
  /** By name; empty on fields without codes. */
  readonly codes: ReadonlyMap<string, Code>;
  readonly byValue: ReadonlyMap<number, Code>;
  readonly holdsAddress: boolean;
  /** As written, for a row that does not set the field; null where every row must. */
  readonly fallback: string | null;
  /** What the field does where it is one line and asserted. */
  readonly asserted: Action;
  readonly activeLow: boolean;
}

/** A field of one bit that has neither codes nor an address in it: a control line. */
export const isLine = (field: MicroField): boolean => field.bits === 1 && field.codes.size === 0 && !field.holdsAddress;

/** The fields as the plan gives them, in its order; codes that do not fit are complained about and left out. */
export function microFields(contents: AddressContents, buses: Buses, complaints: Complaints): readonly MicroField[] {
  return Object.entries(contents.word).map(([name, given]) => {
    // A name alone is a line that does nothing to any bus.
    const spec: FieldSpec = given ?? { bits: 1 };
    const path = ['word', name];
    const codes = codesOf(name, spec, complaints);
    if (spec.holds === 'address' && codes.size > 0) {
      const why = 'An address has labels for its values; put the codes into a field of their own.';
      complaints.error('field.mixed', `The field "${name}" holds an address and has codes.`, why, [...path, 'codes']);
    }
    const hasRest = codes.size === 0 || [...codes.values()].some((code) => code.value === 0);
    const fallback = spec.default === undefined ? (hasRest ? '0' : null) : String(spec.default);
    const asserted = { name, drives: listOf(spec.drives), loads: listOf(spec.loads) };
    const actions = [...codes.values()];
    complaints.add(unknownBuses([asserted], buses, (_, key) => [...path, key]));
    complaints.add(unknownBuses(actions, buses, (i, key) => [...path, 'codes', [...codes.keys()][i]!, key]));
    return {
      name,
      bits: spec.bits,
      codes,
      byValue: new Map(actions.map((code) => [code.value, code])),
      holdsAddress: spec.holds === 'address',
      fallback,
      asserted,
      activeLow: spec.active === 'low',
    };
  });
}

function codesOf(field: string, spec: FieldSpec, { error }: Complaints): ReadonlyMap<string, Code> {
  const codes = new Map<string, Code>();
  for (const [name, written] of Object.entries(spec.codes ?? {})) {
    const long = typeof written === 'object' ? written : { code: written };
    const value = readNumber(long.code) ?? 0;
    const path = ['word', field, 'codes', name];
    const twin = [...codes].find(([, code]) => code.value === value)?.[0];
    if (value >= 2 ** spec.bits) {
      const message = `The code ${value} of "${name}" does not fit the field "${field}" of ${spec.bits} bits.`;
      error('code.beyond', message, `It takes 0 to ${2 ** spec.bits - 1}; give the field more bits.`, path);
      continue;
    }
    if (twin !== undefined) {
      const message = `"${twin}" and "${name}" of the field "${field}" are both code ${value}.`;
      error('code.twice', message, 'The decoder behind the field cannot tell them apart.', path);
    }
    codes.set(name, {
      name: `${field}=${name}`,
      value,
      drives: listOf(long.drives),
      loads: listOf(long.loads),
      goes: listOf(long.goes),
      never: listOf(long.never),
    });
  }
  return codes;
}
