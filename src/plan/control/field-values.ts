// Values of a field in a control store, or a sentence about what is wrong with them.

import type { Field } from '../table.js';
import { readChoice } from '../value-choice.js';
import { numberOfBits, sayTaken } from '../value-range.js';

/** 5, `0b1-0`, `8..11`, or the builder's own name for a value; or a list of such. */
export type ValueSpec = number | string | readonly (number | string)[];

/** All values that `spec` means in rising order, or what is wrong with it, without a full stop. */
export function valuesIn(spec: ValueSpec, field: Field): readonly number[] | string {
  const choice = readChoice(spec, field);
  if (typeof choice !== 'string') return choice.values;
  const range = sayTaken(field).replace(/^It is/, 'which is');
  const names = field.names.size > 0 ? `, or one of ${[...field.names.values()].join(', ')}` : '';
  return `${/^-?[0-9]/.test(choice) ? choice : `"${choice}"`} is no value of the field "${field.name}", ${range}${names}`;
}

/** Values in the base in which the plan writes them: "0x1F", "0b101", "9". */
export function sayWritten(values: readonly number[], spec: ValueSpec, field: Field): string {
  const written = [spec].flat().join(' ');
  const said = (value: number): string => {
    if (/\b0x/i.test(written)) return `0x${value.toString(16).toUpperCase()}`;
    if (/\b0b/i.test(written)) return `0b${value.toString(2).padStart(field.bits, '0')}`;
    return String(numberOfBits(field, value));
  };
  return values.map(said).join(', ');
}
