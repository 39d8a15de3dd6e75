// One entry of a pin list: the bits that it names and the pins that it gives them, with everything wrong about it.
import { countOf } from '../ground/quantity.js';
import type { Complaints } from './complaints.js';
import { type PinName, readBits, readPins } from './pin-list.js';
import type { Path } from './table.js';

/** The pins of one ROM as the plan writes them: what is wired -> the pins, or null where they were no pins at all. */
export type PinLists = Readonly<Record<string, string | readonly string[] | null>>;

export interface WiredPin {
  readonly pin: PinName;
  readonly path: Path;
}

/** Address or data side of a chip. */
export interface Side {
  readonly key: 'address' | 'data';
  readonly letter: 'A' | 'D';
  /** Null where the chip is not known. */
  readonly pins: number | null;
}

export interface WiredBits {
  /** What is wired, as the plan names it; of `bits`, one stands for each pin. Null where the name or the counts are wrong. */
  readonly bits: { readonly name: string; readonly bits: readonly number[] } | null;
  readonly pins: readonly WiredPin[];
  /** False where a pin could not be read. */
  readonly readable: boolean;
}

/** The pins of one list; what is no pin of this chip is complained about and left out. */
export function readWiredPins(lists: PinLists, reference: string, side: Side, complaints: Complaints) {
  const { key, letter, pins: count } = side;
  const list = lists[reference] ?? [];
  const path = [key, reference];
  const items =
    typeof list === 'string' ? [{ text: list, path }] : list.map((text, i) => ({ text, path: [...path, i] }));
  const there = count === null ? null : `${letter}0 to ${letter}${count - 1}`;
  const pins: WiredPin[] = [];
  let readable = lists[reference] !== null;
  for (const { text, path: at } of items) {
    for (const pin of readPins(text, letter)) {
      if (!('unreadable' in pin) && (count === null || pin.index < count)) {
        pins.push({ pin, path: at });
        continue;
      }
      readable = false;
      if ('unreadable' in pin) {
        const has = there === null ? '' : `; this chip has ${there}`;
        const why = `Write pins as ${letter}3, ranges as ${letter}0..${letter}4${has}.`;
        complaints.error('pin.unreadable', `"${pin.unreadable}" is not a pin.`, why, at);
      } else complaints.error('pin.unknown', `This chip has no pin ${letter}${pin.index}.`, `It has ${there}.`, at);
    }
  }
  return { pins, readable };
}

/** Whether a pin carries the complement of its bit: a stroke stands at the pin, or at the name. */
export function readInversion(reference: string, { pin, path }: WiredPin, side: Side, { error }: Complaints): boolean {
  const inverted = readBits(reference, new Map()).inverted;
  if (inverted && pin.activeLow) {
    const message = `"${reference}" has a stroke, and so has its pin ${side.letter}${pin.index}.`;
    error('pin.polarity', message, 'One stroke inverts; strike one of the two, or both.', path);
  }
  return inverted || pin.activeLow;
}

/** One entry with its pins matched to the bits of a field or output, from bit 0 up. */
export function readWiredBits(
  lists: PinLists,
  reference: string,
  side: Side,
  widths: ReadonlyMap<string, number>,
  complaints: Complaints,
): WiredBits {
  const { pins, readable } = readWiredPins(lists, reference, side, complaints);
  const what = side.key === 'address' ? 'field' : 'output';
  const path = [side.key, reference];
  const { name, inverted, bits } = readBits(reference, widths);
  const wrongWidth = (message: string, why: string): WiredBits => {
    complaints.errorAtKey(`${what}.width`, message, why, path);
    return { bits: null, pins, readable };
  };
  if (bits === null) {
    complaints.unknownName(what, inverted ? reference.slice(1) : reference, widths.keys(), path);
    return { bits: null, pins, readable };
  }
  const width = widths.get(name)!;
  const outside = bits.find((b) => b >= width);
  if (outside !== undefined) {
    return wrongWidth(
      `The ${what} "${name}" has no bit ${outside}.`,
      width === 1 ? 'It is 1 bit wide: bit 0.' : `It is ${width} bits wide: bits 0 to ${width - 1}.`,
    );
  }
  // With a pin unreadable the count says nothing new.
  if (readable && bits.length !== pins.length) {
    return wrongWidth(
      `"${reference}" is ${countOf(bits.length, 'bit')} wide and has ${countOf(pins.length, 'pin')}.`,
      'Give one pin for every bit, bit 0 first.',
    );
  }
  return { bits: { name, bits }, pins, readable };
}

/** `pin A3`, `pins A3, A4`. */
export const sayPins = (letter: string, pins: readonly number[]): string =>
  `${pins.length === 1 ? 'pin' : 'pins'} ${pins.map((i) => `${letter}${i}`).join(', ')}`;
