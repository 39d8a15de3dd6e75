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

/** Places of the display that this ROM drives, leftmost first: with the place fixed, that one alone. */
export function placesOf(rom: Rom, { place, leftToRight }: DisplayFacts): readonly number[] {
  if (place === null) return [0];
  const fixed = rom.fixed.get(place);
  return fixed === undefined ? leftToRight : leftToRight.filter((p) => p === fixed);
}

/**
 * Reads a display at a setting of the fields, whatever the place field says. `byteAt` gives the bytes of any image of a
 * ROM: the wanted one, or a readback. Null where the ROM drives no display there. Segments without a pin are dark. `set` are
 * ROMs that may drive the other digits; digits that none of them drives are left out.
 */
export function readDisplay(
  rom: Rom,
  values: ReadonlyMap<string, number>,
  byteAt: (address: number, rom: Rom) => number,
  set: readonly Rom[] = [rom],
): DisplayReading | null {
  const display = displayOf(rom, values);
  if (!display) return null;
  const outputs = [...rom.table.outputs.keys()];
  const drivers = [rom, ...set.filter((other) => other !== rom && other.table === rom.table)];
  const places = display.place === null ? [0] : display.leftToRight;
  const segments = places.flatMap((place) => {
    const driver = drivers.find((each) => placesOf(each, display).includes(place));
    if (driver === undefined) return [];
    const maker = new ByteMaker(driver, null);
    const setting = display.place === null ? values : new Map(values).set(display.place, place);
    const inputs = [...rom.table.inputs.keys()].map((name) => setting.get(name) ?? 0);
    const shown = maker.valuesOf(byteAt(addressOfValues(driver, setting), driver), rom.table.at(inputs));
    return display.segments.reduce((bits, name, k) => bits | ((shown[outputs.indexOf(name)] ?? 0) << k), 0);
  });
  const text = segments.map((s) => display.letterOf(s) ?? '?').join('');
  return { segments, text, drawing: drawDigits(segments).join('\n') };
}
