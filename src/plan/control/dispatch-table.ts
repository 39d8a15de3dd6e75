// Dispatch tables: a value of another field, such as an opcode, leads to a row of the microprogram.

import { type Complaints, nearest } from '../complaints.js';
import { readNumber } from '../schema-words.js';
import type { Field, Fields, Path } from '../table.js';
import type { AddressContents } from './address-schema.js';
import { valuesIn } from './field-values.js';

export interface Dispatch {
  readonly name: string;
  readonly by: Field;
  /** One target address for each value of the field; undefined where the plan gives none. */
  readonly targets: readonly (number | undefined)[];
}

/** The dispatch tables of a plan. Their keys are values of the field `by`, or its names, or names under `codes`. */
export function compileDispatches(
  contents: AddressContents,
  plan: Fields,
  address: Field,
  targetOf: (text: string | number, path: Path) => number,
  { error }: Complaints,
): readonly Dispatch[] {
  return Object.entries(contents.dispatch ?? {}).flatMap(([name, spec]) => {
    const path = ['dispatch', name];
    const field = plan.get(spec.by);
    if (field === undefined || field.name === address.name) {
      const message =
        field === undefined
          ? `There is no field "${spec.by}"${nearest(spec.by, plan.keys())}.`
          : `"${spec.by}" is the address itself.`;
      error('field.unknown', message, 'A dispatch goes by another field of the plan, such as an opcode.', [
        ...path,
        'by',
      ]);
      return [];
    }
    const codes = Object.entries(spec.codes ?? {});
    const by: Field = {
      ...field,
      names: new Map([...field.names, ...codes.map(([n, value]) => [readNumber(value) ?? 0, n] as const)]),
    };
    const otherwise = spec.otherwise === undefined ? undefined : targetOf(spec.otherwise, [...path, 'otherwise']);
    const targets = new Array<number | undefined>(2 ** field.bits).fill(otherwise);
    const given = new Map<number, string>();
    for (const [key, written] of Object.entries(spec.to)) {
      const target = targetOf(written, [...path, 'to', key]);
      const values = valuesIn(key, by);
      if (typeof values === 'string') {
        const why = 'On the left stands a value of the field, on the right a label.';
        error('opcode.wrong', `${values}.`, why, [...path, 'to', key], {
          onKey: true,
        });
        continue;
      }
      for (const value of values) {
        const twin = given.get(value);
        if (twin !== undefined) {
          const message = `"${key}" and "${twin}" are the same value, ${value}, of "${by.name}".`;
          error('opcode.twice', message, 'A value leads to one row only.', [...path, 'to', key], { onKey: true });
        }
        given.set(value, key);
        targets[value] = target;
      }
    }
    return [{ name, by, targets }];
  });
}
