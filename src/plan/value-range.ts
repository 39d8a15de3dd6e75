// What the bits of a field mean as a number, and which values the field can have at all.
import { countOf } from '../ground/quantity.js';
import type { Field, Fields } from './table.js';

type Range = Pick<Field, 'bits' | 'signed' | 'values'>;

/** The number that bits of a field mean: two's complement where the field is signed. */
export const numberOfBits = ({ bits, signed }: Pick<Field, 'bits' | 'signed'>, carried: number): number =>
  signed && carried >= 2 ** (bits - 1) ? carried - 2 ** bits : carried;

/** The least and the greatest number that so many bits can mean. */
export const boundsOf = ({ bits, signed }: Pick<Field, 'bits' | 'signed'>): readonly [number, number] =>
  signed ? [-(2 ** (bits - 1)), 2 ** (bits - 1) - 1] : [0, 2 ** bits - 1];

/** The bits that mean a number, or null where the field is too narrow for it. */
export function bitsOfNumber(field: Pick<Field, 'bits' | 'signed'>, number: number): number | null {
  const [least, most] = boundsOf(field);
  if (number < least || number > most) return null;
  return number < 0 ? number + 2 ** field.bits : number;
}

/** Bits that the field never carries have no part in anything. */
export const canHave = ({ bits, values }: Range, carried: number): boolean =>
  carried >= 0 && carried < 2 ** bits && (values === null || values.has(carried));

/** All values that the field can have, as bits, in the rising order of what they mean. */
export function everyValue(field: Range): readonly number[] {
  const size = 2 ** field.bits;
  const least = field.signed ? size / 2 : 0;
  const all = Array.from({ length: size }, (_, i) => (i + least) % size);
  return field.values === null ? all : all.filter((carried) => field.values!.has(carried));
}

/** Whether a setting of these inputs has a value that its field never has. */
export function neverMet(inputs: Iterable<string>, fields: Fields): (setting: readonly number[]) => boolean {
  const limited = [...inputs].flatMap((name, k) => {
    const values = fields.get(name)?.values ?? null;
    return values === null ? [] : [{ k, values }];
  });
  return (setting) => limited.some(({ k, values }) => !values.has(setting[k]!));
}

/** How wide a field is and what it takes, without a full stop. */
export function sayTaken(field: Range): string {
  const { bits, signed, values } = field;
  const [least, most] = boundsOf(field);
  const has =
    values === null ? '' : `, of which it has only ${sayRuns(everyValue(field).map((n) => numberOfBits(field, n)))}`;
  return `It is ${countOf(bits, 'bit')} wide${signed ? ' and signed' : ''}: ${least} to ${most}${has}`;
}

/** Rising numbers as ranges: `-2 to 7, 9`. */
function sayRuns(numbers: readonly number[]): string {
  const runs: string[] = [];
  for (let i = 0; i < numbers.length; ) {
    let end = i;
    while (end + 1 < numbers.length && numbers[end + 1] === numbers[end]! + 1) end++;
    runs.push(end === i ? `${numbers[i]}` : `${numbers[i]} to ${numbers[end]}`);
    i = end + 1;
  }
  return runs.join(', ');
}
