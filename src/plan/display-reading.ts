// What a whole display shows at one setting, read out of an image the way the circuit scans it.
import { addressOfValues } from './addressing.js';
import { ByteMaker } from './image-building.js';
import type { Rom } from './rom.js';
import { drawDigits } from './segment-drawing.js';
import type { DisplayFacts } from './table.js';

export interface DisplayReading {
  /** Lit segments of every digit, leftmost first: a = bit 0 .. g = bit 6, point = bit 7. */
  readonly segments: readonly number[];
  /** As a person reads it, one letter a digit; `?` where the segments are no glyph of the font. */
  readonly text: string;
  /** Three lines of text. */
  readonly drawing: string;
}

/** The facts of the display that a ROM drives at this setting, or null where it drives none. */
export function displayOf(rom: Rom, values: ReadonlyMap<string, number>): DisplayFacts | null {
  return rom.table.displayAt?.([...rom.table.inputs.keys()].map((name) => values.get(name) ?? 0)) ?? null;
}

/**
 * Reads a display at a setting of the fields, whatever the place field says. `byteAt` gives the bytes of any image of this
 * ROM: the wanted one, or a readback. Null where the ROM drives no display there. Segments without a pin are dark.
 */
export function readDisplay(
  rom: Rom,
  values: ReadonlyMap<string, number>,
  byteAt: (address: number) => number,
): DisplayReading | null {
  const display = displayOf(rom, values);
  if (!display) return null;
  const outputs = [...rom.table.outputs.keys()];
  const maker = new ByteMaker(rom, null);
  const places = display.place === null ? [0] : display.leftToRight;
  const segments = places.map((place) => {
    const setting = display.place === null ? values : new Map(values).set(display.place, place);
    const inputs = [...rom.table.inputs.keys()].map((name) => setting.get(name) ?? 0);
    const shown = maker.valuesOf(byteAt(addressOfValues(rom, setting)), rom.table.at(inputs));
    return display.segments.reduce((bits, name, k) => bits | ((shown[outputs.indexOf(name)] ?? 0) << k), 0);
  });
  const text = segments.map((s) => display.letterOf(s) ?? '?').join('');
  return { segments, text, drawing: drawDigits(segments).join('\n') };
}
