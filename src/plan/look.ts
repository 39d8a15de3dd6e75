// One address of one ROM explained both ways: what every pin carries there, which setting it is, and what it means.

import { hex } from '../ground/byte-text.js';
import { addressText } from '../ground/quantity.js';
import { valuesAt } from './addressing.js';
import { type DisplayReading, readDisplay } from './display-reading.js';
import { ByteMaker } from './image-building.js';
import type { CompiledPlan } from './plan-compiling.js';
import { type AddressPin, AddressReader, type Rom } from './rom.js';
import { sayField } from './setting-words.js';

export interface PinLook {
  /** `A3` or `D0`. */
  readonly pin: string;
  readonly level: 0 | 1;
  /** The bit it carries, e.g. `reading.3`; `tied low`, `tied high` or `unused`. */
  readonly carries: string;
  readonly activeLow: boolean;
}

export interface Look {
  readonly rom: string;
  readonly chip: string;
  readonly address: number;
  /** False where a tied pin keeps the circuit from ever coming here. */
  readonly reachable: boolean;
  readonly fields: readonly { readonly name: string; readonly value: number; readonly said: string }[];
  readonly addressPins: readonly PinLook[];
  readonly dataPins: readonly PinLook[];
  /** The byte the plan wants here; null where it defines none. */
  readonly byte: number | null;
  readonly meaning: string;
  readonly display: DisplayReading | null;
}

/** What the table says at an address, in one line. */
export function meaningOf(rom: Rom, address: number): string {
  const reader = new AddressReader(rom);
  if (!reader.reachable(address)) return sayNeverRead(rom, reader, address);
  return rom.table.explain(reader.inputsAt(address), new Set(rom.data.flat().map((bit) => bit.output)));
}

function sayNeverRead(rom: Rom, reader: AddressReader, address: number): string {
  const never = reader.neverHad(address);
  if (never === null) return 'never read: a tied pin would need its other level';
  return `never read: the plan says that the circuit never has ${sayField(never.field.name, never.value, rom.fields)}`;
}

/** What differs at an address, in the builder's words; may be several lines. */
export function differenceOf(rom: Rom, address: number, wanted: number, actual: number): string {
  const reader = new AddressReader(rom);
  if (!reader.reachable(address)) return meaningOf(rom, address);
  const inputs = reader.inputsAt(address);
  const maker = new ByteMaker(rom, null);
  const expected = rom.table.at(inputs);
  const [should, is] = [maker.valuesOf(wanted, expected), maker.valuesOf(actual, expected)];
  if (should.every((value, k) => value === is[k])) {
    return `${meaningOf(rom, address)}; only data pins that carry nothing differ`;
  }
  return rom.table.explainDifference?.(inputs, should, is) ?? meaningOf(rom, address);
}

const bitName = (name: string, bit: number, width: number | undefined): string =>
  width === 1 ? name : `${name}.${bit}`;

const sayUnwired = (pin: Exclude<AddressPin, { kind: 'field' }>): string =>
  pin.kind === 'unused' ? 'unused' : pin.level ? 'tied high' : 'tied low';

export function lookAtRom(plan: CompiledPlan, rom: Rom, address: number): Look {
  const reader = new AddressReader(rom);
  const reachable = reader.reachable(address);
  const byte = reachable ? new ByteMaker(rom, plan.fill).byteOf(rom.table.at(reader.inputsAt(address))) : -1;
  const held = byte < 0 ? plan.fill : byte;
  const values = valuesAt(rom, address);
  const wanted = (at: number, there: Rom): number => {
    const inputs = new AddressReader(there).inputsAt(at);
    const wantedThere = new ByteMaker(there, plan.fill).byteOf(there.table.at(inputs));
    return wantedThere < 0 ? (plan.fill ?? 0xff) : wantedThere;
  };
  return {
    rom: rom.name,
    chip: rom.chip.name,
    address,
    reachable,
    fields: [...values].map(([name, value]) => ({ name, value, said: sayField(name, value, plan.fields) })),
    addressPins: rom.address.map((pin, line) => ({
      pin: `A${line}`,
      level: ((address >> line) & 1) as 0 | 1,
      carries: pin.kind === 'field' ? bitName(pin.field, pin.bit, plan.fields.get(pin.field)?.bits) : sayUnwired(pin),
      activeLow: pin.kind === 'field' && pin.inverted,
    })),
    dataPins: rom.data.map((sources, line) => ({
      pin: `D${line}`,
      level: (((held ?? 0xff) >> line) & 1) as 0 | 1,
      carries: sources.map((s) => bitName(s.output, s.bit, rom.table.outputs.get(s.output))).join(' | ') || 'unused',
      activeLow: sources.some((s) => s.activeLow),
    })),
    byte: held,
    meaning: meaningOf(rom, address),
    display: reachable ? readDisplay(rom, values, wanted, plan.roms) : null,
  };
}

/** Looks as text for people, several lines each. A display that several of them see one after the other is drawn once, after the last. */
export const sayLooks = (...looks: readonly Look[]): string =>
  looks.map((look, i) => sayLook(look, look.display?.drawing !== looks[i + 1]?.display?.drawing)).join('\n');

function sayLook(look: Look, isDrawn: boolean): string {
  const { byte } = look;
  const pins = (list: readonly PinLook[]): string =>
    list.map((p) => `${p.pin}=${p.level} ${p.activeLow ? '/' : ''}${p.carries}`).join('  ');
  const holds = byte === null ? 'not defined' : `0x${hex(byte)} (${byte.toString(2).padStart(8, '0')})`;
  return [
    `${look.rom} (${look.chip}), address ${addressText(look.address, 2 ** look.addressPins.length)}: ${holds}`,
    `  ${look.meaning}`,
    `  ${pins(look.addressPins)}`,
    ...(byte === null ? [] : [`  ${pins(look.dataPins)}`]),
    ...(look.display && isDrawn ? look.display.drawing.split('\n').map((l) => `  ${l}`.trimEnd()) : []),
  ].join('\n');
}
