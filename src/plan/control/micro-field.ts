// The fields of a microword: lines, encoded fields with named codes, addresses.

import type { Complaints } from '../complaints.js';
import type { AddressContents, FieldSpec } from './address-schema.js';
import { type Buses, unknownBuses } from './bus-traffic.js';
import { type Code, type CodedOutput, readCodes } from './coded-output.js';
import { listOf } from './one-or-more.js';

export interface MicroCode extends Code {
  /** Where the store goes after a row with this code, as written; empty where the code says nothing about it. */
  readonly goes: readonly string[];
  /** Places that this code rules out where others are left: an unconditional jump never goes to `next`. */
  readonly never: readonly string[];
}

export interface MicroField extends CodedOutput {
  readonly codes: ReadonlyMap<string, MicroCode>;
  readonly byValue: ReadonlyMap<number, MicroCode>;
  readonly holdsAddress: boolean;
  /** As written, for a row that does not set the field; null where every row must. */
  readonly fallback: string | null;
  /** The plan itself says what a row has that does not set the field. */
  readonly hasDefault: boolean;
}

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
      hasDefault: spec.default !== undefined,
      asserted,
      activeLow: spec.active === 'low',
    };
  });
}

const codesOf = (field: string, spec: FieldSpec, complaints: Complaints): ReadonlyMap<string, MicroCode> =>
  readCodes(
    field,
    spec.bits,
    spec.codes ?? {},
    (name, value, long) => ({
      ...{ name, value },
      drives: listOf(long?.drives),
      loads: listOf(long?.loads),
      goes: listOf(long?.goes),
      never: listOf(long?.never),
    }),
    ['word', field],
    complaints,
  );
