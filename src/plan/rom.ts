// One ROM of a plan: a table, a chip, and which bit of which field or output every pin carries.
import type { Part } from '../chip/part.js';
import type { Field, Fields, Path, Table } from './table.js';

/** What reaches one address pin. */
export type AddressPin =
  /** Inverted: the pin is low where the bit is 1. */
  | { readonly kind: 'field'; readonly field: string; readonly bit: number; readonly inverted: boolean }
  | { readonly kind: 'tied'; readonly level: 0 | 1 }
  /** Left open or driven by something else: the same bytes stand under both levels. */
  | { readonly kind: 'unused' };

/** One bit of one output, as it leaves on a data pin. */
export interface OutputBit {
  readonly output: string;
  readonly bit: number;
  /** The pin is low where the bit is 1. */
  readonly activeLow: boolean;
}

/** What one data pin carries: nothing, one output bit, or with banks one for each bank. */
export type DataPin = readonly OutputBit[];

export interface Rom {
  readonly name: string;
  readonly chip: Part;
  /** Pin A0 first, one a line of the chip. */
  readonly address: readonly AddressPin[];
  /** Pin D0 first, eight. */
  readonly data: readonly DataPin[];
  /** Fields that have one value for this ROM and reach no pin. */
  readonly fixed: ReadonlyMap<string, number>;
  readonly table: Table;
  /** All fields of the plan. */
  readonly fields: Fields;
  /** Where the ROM stands in the plan. */
  readonly path: Path;
}

/** What cells get that the table leaves open: a byte, or null for leaving in the chip what is there. */
export type Fill = number | null;

/** Turns addresses into settings of the ROM's table, quickly: bits are collected through two small tables a field. */
export class AddressReader {
  readonly #lowLines: number;
  readonly #fixed: readonly number[];
  readonly #low: readonly Uint32Array[];
  readonly #high: readonly Uint32Array[];
  readonly #tiedMask: number;
  readonly #tiedLevels: number;
  readonly #limited: readonly { readonly field: Field; readonly low: Uint32Array; readonly high: Uint32Array }[];

  constructor(rom: Rom) {
    const lines = rom.address.length;
    this.#lowLines = lines >> 1;
    const names = [...rom.table.inputs.keys()];
    this.#fixed = names.map((n) => rom.fixed.get(n) ?? 0);
    this.#low = names.map((n) => contributions(rom.address.slice(0, this.#lowLines), n));
    this.#high = names.map((n) => contributions(rom.address.slice(this.#lowLines), n));
    let mask = 0;
    let levels = 0;
    for (const [pin, carries] of rom.address.entries()) {
      if (carries.kind !== 'tied') continue;
      mask |= 1 << pin;
      levels |= carries.level << pin;
    }
    this.#tiedMask = mask;
    this.#tiedLevels = levels;
    const [lower, upper] = [rom.address.slice(0, this.#lowLines), rom.address.slice(this.#lowLines)];
    // Of a field that reaches the chip in part, any of its values may be behind those bits.
    this.#limited = [...rom.fields.values()]
      .filter((field) => field.values !== null && pinsOf(rom, field) === field.bits)
      .map((field) => ({ field, low: contributions(lower, field.name), high: contributions(upper, field.name) }));
  }

  /** The inputs of the table at an address, in its order. */
  inputsAt(address: number): number[] {
    const low = address & ((1 << this.#lowLines) - 1);
    const high = address >> this.#lowLines;
    const inputs = new Array<number>(this.#fixed.length);
    for (let k = 0; k < inputs.length; k++) inputs[k] = this.#fixed[k]! | this.#low[k]![low]! | this.#high[k]![high]!;
    return inputs;
  }

  /** False where a tied pin would have to have the other level, or a field a value that it never has. */
  reachable(address: number): boolean {
    return (address & this.#tiedMask) === this.#tiedLevels && this.neverHad(address) === null;
  }

  /** A field that would have to have a value which it never has, with that value. */
  neverHad(address: number): { readonly field: Field; readonly value: number } | null {
    for (let k = 0; k < this.#limited.length; k++) {
      const { field, low, high } = this.#limited[k]!;
      const value = low[address & ((1 << this.#lowLines) - 1)]! | high[address >> this.#lowLines]!;
      if (!field.values!.has(value)) return { field, value };
    }
    return null;
  }
}

const pinsOf = (rom: Rom, field: Field): number =>
  rom.address.filter((pin) => pin.kind === 'field' && pin.field === field.name).length;

/** For every setting of these pins, the bits of `field` that they carry. */
function contributions(pins: readonly AddressPin[], field: string): Uint32Array {
  const table = new Uint32Array(1 << pins.length);
  for (const [pin, carries] of pins.entries()) {
    if (carries.kind !== 'field' || carries.field !== field) continue;
    for (let setting = 0; setting < table.length; setting++) {
      if (((setting >> pin) & 1) !== Number(carries.inverted)) table[setting]! |= 1 << carries.bit;
    }
  }
  return table;
}
