// Settings of the inputs and values of the outputs in the builder's words.
import type { Field, Fields, OutputValues } from './table.js';
import { numberOfBits } from './value-range.js';

/** `37`, or `37 (0x25)` where decimal and hexadecimal differ. */
export const sayNumber = (value: number): string =>
  value < 10 ? String(value) : `${value} (0x${value.toString(16).toUpperCase()})`;

/** `reading 37 (0x25)`, `reading -12 (0x1F4)` where it is signed, or with the builder's name for the value `mode signed`. */
export function sayField(name: string, value: number, fields: Fields): string {
  const field = fields.get(name);
  return `${name} ${field ? (field.names.get(value) ?? sayValue(field, value)) : sayNumber(value)}`;
}

/** A negative number always with its bits: they are what is at the pins. */
function sayValue(field: Field, value: number): string {
  const number = numberOfBits(field, value);
  return number < 0 ? `${number} (0x${value.toString(16).toUpperCase()})` : sayNumber(value);
}

/** All inputs of a table at one setting, in its order. */
export function saySetting(inputs: Iterable<string>, values: readonly number[], fields: Fields): string {
  return [...inputs].map((name, k) => sayField(name, values[k] ?? 0, fields)).join(', ') || 'always';
}

/** Outputs that are defined, one-bit outputs without names by name alone: `pump, level 3`; `all outputs 0` where nothing is on. */
export function sayOutputs(outputs: Fields, values: OutputValues): string {
  const said = [...outputs].flatMap(([name, { bits, names }], k) => {
    const value = values[k];
    if (value === undefined) return `${name} don't care`;
    if (bits === 1 && names.size === 0) return value ? name : [];
    return sayField(name, value, outputs);
  });
  return said.join(', ') || 'all outputs 0';
}

/** Every output that differs, with what it should be and is. */
export function sayDifferences(outputs: Fields, wanted: OutputValues, actual: OutputValues): string {
  return [...outputs]
    .flatMap(([name, { bits, names }], k) => {
      const should = wanted[k];
      const is = actual[k];
      if (should === undefined || is === undefined || should === is) return [];
      if (bits === 1 && names.size === 0)
        return `${name} is ${is ? 'on' : 'off'} and should be ${should ? 'on' : 'off'}`;
      const [found, right] = [is, should].map((value) => sayField(name, value, outputs).slice(name.length + 1));
      return `${name} is ${found} and should be ${right}`;
    })
    .join('; ');
}
