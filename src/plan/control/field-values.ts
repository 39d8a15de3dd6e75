// Values of a field as a plan writes them: numbers, names, binary with don't-cares, ranges.
import type { Field } from '../table.js';

/** 5, "0b1x0", "8..11", or the builder's own name for a value; or a list of such. */
export type ValueSpec = number | string | readonly (number | string)[];

const binary = /^0b([01x]+)$/;
const range = /^(\d+|0x[0-9A-Fa-f]+)\.\.(\d+|0x[0-9A-Fa-f]+)$/;
const number = /^(?:\d+|0x[0-9A-Fa-f]+)$/;

/** The whole number in a text, decimal, 0x or 0b; null where it is none. */
export const numberIn = (text: string): number | null =>
  number.test(text) || /^0b[01]+$/.test(text) ? Number(text) : null;

/** All values that `spec` means, or a sentence about what is wrong with it. */
export function valuesIn(spec: ValueSpec, field: Field): readonly number[] | string {
  const all: number[] = [];
  for (const one of typeof spec === 'object' ? spec : [spec]) {
    const values = valuesOfOne(one, field);
    if (typeof values === 'string') return values;
    all.push(...values);
  }
  return [...new Set(all)];
}

function valuesOfOne(spec: number | string, field: Field): readonly number[] | string {
  const size = 2 ** field.bits;
  const beyond = (value: number): string =>
    `${value} does not fit the field "${field.name}", which has ${field.bits} bit${field.bits > 1 ? 's' : ''} and takes 0 to ${size - 1}`;
  if (typeof spec === 'number') {
    if (!Number.isInteger(spec) || spec < 0) return `${spec} is no whole number from 0 up`;
    return spec < size ? [spec] : beyond(spec);
  }
  for (const [value, name] of field.names) if (name === spec) return [value];
  const plain = numberIn(spec);
  if (plain !== null) return plain < size ? [plain] : beyond(plain);
  const digits = binary.exec(spec)?.[1];
  if (digits !== undefined) {
    if (digits.length > field.bits) return `${spec} has ${digits.length} digits, "${field.name}" has ${field.bits}`;
    return matching(digits);
  }
  const ends = range.exec(spec);
  if (ends !== null) {
    const [low, high] = [Number(ends[1]), Number(ends[2])];
    if (low > high) return `the range ${spec} runs backwards`;
    return high < size ? Array.from({ length: high - low + 1 }, (_, i) => low + i) : beyond(high);
  }
  const names = field.names.size > 0 ? `, or one of ${[...field.names.values()].join(', ')}` : '';
  return `"${spec}" is no value of "${field.name}": write a number, a range such as 4..7, binary with don't-cares such as 0b1x0${names}`;
}

/** Every number that fits binary digits in which x stands for either; the count is 2^(number of x). */
function matching(digits: string): number[] {
  let values = [0];
  for (const digit of digits) {
    values = values.flatMap((v) => (digit === 'x' ? [2 * v, 2 * v + 1] : [2 * v + Number(digit)]));
  }
  return values;
}
