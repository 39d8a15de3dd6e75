// Output values for every setting of the inputs, in typed arrays.
import type { Complaints } from './complaints.js';
import type { OutputValues } from './table.js';

/** The widest set of inputs that a grid holds: a cell more than the largest chip could hold at once. */
export const widestInputs = 20;

/** Bits of all inputs together. */
export const bitsOf = (widths: ReadonlyMap<string, number>): number => [...widths.values()].reduce((a, b) => a + b, 0);

/** Setting number `index` of inputs with these widths: the first input counts slowest. */
export function settingOf(widths: readonly number[], index: number): number[] {
  const setting = new Array<number>(widths.length);
  for (let k = widths.length - 1, rest = index; k >= 0; k--) {
    setting[k] = rest & (2 ** widths[k]! - 1);
    rest >>= widths[k]!;
  }
  return setting;
}

/** Values that one grid holds at most: 16 outputs of the largest chip; 32 MiB. */
export const mostValues = 2 ** 23;

/** Complains where inputs are wider together than any chip could take; such a table is not laid out. */
export function tooWide(widths: Iterable<number>, { error }: Complaints): boolean {
  const bits = [...widths].reduce((sum, width) => sum + width, 0);
  if (bits <= widestInputs) return false;
  const why = `At most ${widestInputs} bits can be worked with; the largest chips have 19 address lines.`;
  error('contents.too-wide', `The fields of these contents are ${bits} bits wide together.`, why, []);
  return true;
}

/** Complains where a grid of these inputs and outputs would be larger than anything that a set of chips could hold. */
export function tooLarge(
  inputs: ReadonlyMap<string, number>,
  outputs: ReadonlyMap<string, number>,
  complaints: Complaints,
): boolean {
  if (tooWide(inputs.values(), complaints)) return true;
  const cells = 2 ** bitsOf(inputs);
  if (cells * outputs.size <= mostValues) return false;
  const why = `With ${bitsOf(inputs)} bits of fields at most ${mostValues / cells} outputs can be worked with.`;
  complaints.error('contents.too-wide', `These contents have ${outputs.size} outputs.`, why, ['outputs']);
  return true;
}

/** Undefined values are kept as -1; outputs are at most 31 bits wide. */
export class ValueGrid {
  readonly size: number;
  readonly #widths: readonly number[];
  readonly #values: readonly Int32Array[];

  constructor(inputs: ReadonlyMap<string, number>, outputs: ReadonlyMap<string, number>) {
    this.#widths = [...inputs.values()];
    this.size = 2 ** bitsOf(inputs);
    this.#values = [...outputs].map(() => new Int32Array(this.size).fill(-1));
  }

  /** The row of a setting: the first input counts slowest. */
  indexOf(inputs: readonly number[]): number {
    let index = 0;
    for (let k = 0; k < this.#widths.length; k++) index = (index << this.#widths[k]!) | (inputs[k] ?? 0);
    return index;
  }

  settingOf(index: number): number[] {
    return settingOf(this.#widths, index);
  }

  /** All values of one output, by row. */
  column(output: number): Int32Array {
    return this.#values[output]!;
  }

  at(index: number): OutputValues {
    const row = new Array<number | undefined>(this.#values.length);
    for (let k = 0; k < row.length; k++) {
      const value = this.#values[k]![index]!;
      row[k] = value < 0 ? undefined : value;
    }
    return row;
  }
}
