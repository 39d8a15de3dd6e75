// Output values for every setting of the inputs, in typed arrays.
import type { OutputValues } from './table.js';

/** The widest set of inputs that a grid holds: a cell more than the largest chip could hold at once. */
export const widestInputs = 20;

/** Bits of all inputs together. */
export const bitsOf = (widths: ReadonlyMap<string, number>): number => [...widths.values()].reduce((a, b) => a + b, 0);

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
    const inputs = new Array<number>(this.#widths.length);
    for (let k = this.#widths.length - 1, rest = index; k >= 0; k--) {
      inputs[k] = rest & (2 ** this.#widths[k]! - 1);
      rest = rest >> this.#widths[k]!;
    }
    return inputs;
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
