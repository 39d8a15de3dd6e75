// From a table and its pins to the bytes of one ROM.
import type { Image } from '../image/image.js';
import { AddressReader, type Fill, type Rom } from './rom.js';
import type { OutputValues } from './table.js';

/** One source of a data pin, with the output's place in the table's order. */
interface PinSource {
  readonly index: number;
  readonly bit: number;
  readonly low: number;
}

/** As many as a display has ways to light seven segments and a point. */
const mostKnown = 256;

/** Puts output values together to bytes the way the ROM's data pins are wired. */
export class ByteMaker {
  readonly #pins: readonly (readonly PinSource[])[];
  /** What pins hold that carry nothing. */
  readonly #idle: number;
  /** All bits of the byte, with every output at rest. */
  readonly #rest: number;

  constructor(rom: Rom, fill: Fill) {
    const order = new Map([...rom.table.outputs.keys()].map((name, index) => [name, index]));
    this.#pins = rom.data.map((pin) =>
      pin.map(({ output, bit, activeLow }) => ({ index: order.get(output)!, bit, low: activeLow ? 1 : 0 })),
    );
    this.#idle = this.#pins.reduce(
      (byte, sources, pin) => byte | (sources.length ? 0 : (fill ?? 0xff) & (1 << pin)),
      0,
    );
    this.#rest = this.#pins.reduce((byte, sources, pin) => byte | ((sources[0]?.low ?? 0) << pin), this.#idle);
  }

  /** Bytes of the first lists of values: a display gives the same lists again and again. */
  readonly #known = new Map<OutputValues, number>();

  byteOf(values: OutputValues): number {
    const known = this.#known.get(values);
    if (known !== undefined) return known;
    const byte = this.#put(values);
    if (this.#known.size < mostKnown) this.#known.set(values, byte);
    return byte;
  }

  /** The byte, or -1 where no output of this ROM is defined. A single bit nobody cares about is left at rest (not asserted). */
  #put(values: OutputValues): number {
    let byte = this.#idle;
    let any = false;
    for (let pin = 0; pin < this.#pins.length; pin++) {
      let level = (this.#rest >> pin) & 1;
      for (const { index, bit, low } of this.#pins[pin]!) {
        const value = values[index];
        if (value === undefined) continue;
        level = ((value >>> bit) & 1) ^ low;
        any = true;
        break;
      }
      byte |= level << pin;
    }
    return any ? byte : -1;
  }

  /**
   * Output values as far as one byte read at these pins tells; undefined where it says nothing. `expected` tells which of
   * several banks a pin speaks for.
   */
  valuesOf(byte: number, expected: OutputValues): (number | undefined)[] {
    const values = new Array<number | undefined>(expected.length).fill(undefined);
    for (const [pin, sources] of this.#pins.entries()) {
      const source = sources.find(({ index }) => expected[index] !== undefined) ?? sources[0];
      if (!source) continue;
      const bit = (((byte >> pin) & 1) ^ source.low) << source.bit;
      values[source.index] = ((values[source.index] ?? 0) | bit) >>> 0;
    }
    return values;
  }
}

/** Builds the image of one ROM: linear in its cells. */
export function buildImage(rom: Rom, fill: Fill): Image {
  const { cells } = rom.chip;
  const bytes = new Uint8Array(cells).fill(fill ?? 0xff);
  const defined = new Uint8Array(cells).fill(fill === null ? 0 : 1);
  const reader = new AddressReader(rom);
  const maker = new ByteMaker(rom, fill);
  for (let address = 0; address < cells; address++) {
    if (!reader.reachable(address)) continue;
    const byte = maker.byteOf(rom.table.at(reader.inputsAt(address)));
    if (byte < 0) continue;
    bytes[address] = byte;
    defined[address] = 1;
  }
  return { name: rom.name, bytes, defined };
}
