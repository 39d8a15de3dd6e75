// ROMs without a field that their outputs need: an error that only the tables' values can show.
import { countOf } from '../ground/quantity.js';
import { tiedWords } from './address-pins.js';
import type { Complaints } from './complaints.js';
import { countedRange, readBits } from './pin-list.js';
import type { Field, Fields, Table } from './table.js';
import { bitsOf, settingOf } from './value-grid.js';
import { everyValue, neverMet } from './value-range.js';
import type { PinLists } from './wired-bits.js';
import type { WrittenRom } from './written-rom.js';

/** Judged by the names in the pin lists alone, so that a wrong pin or chip hides nothing and is not said twice. */
export function complainOfMissingFields(
  rom: string,
  { address, data, fixedNames }: WrittenRom,
  table: Table,
  fields: Fields,
  { errorAtKey }: Complaints,
): void {
  if (address === null) return;
  const { named, strange } = namedBits(address, new Map([...fields].map(([name, { bits }]) => [name, bits])));
  const wired = new Set(Object.keys(data ?? {}).map((reference) => readBits(reference, table.outputs).name));
  for (const [name, width] of table.inputs) {
    if (fixedNames.includes(name)) continue;
    const there = named.get(name);
    const missing = countedRange(0, width - 1).filter((bit) => !there?.has(bit));
    if (missing.length === 0) continue;
    if (there) {
      const one = missing.length === 1;
      const bits = missing.map((bit) => `${name}.${bit}`).join(', ');
      const message = `The ${one ? 'bit' : 'bits'} ${bits} ${one ? 'has' : 'have'} no pin at the ROM "${rom}".`;
      errorAtKey('field.width', message, `The field is ${countOf(width, 'bit')} wide, and every bit has a pin.`, [
        'address',
      ]);
      continue;
    }
    // A name that nobody knows may be this field, mistyped.
    const output = strange || table.outline ? null : outputThatReads(table, wired, fields.get(name)!, fields);
    if (output === null) continue;
    const message = `The field "${name}" does not reach the ROM "${rom}", and its output "${output}" depends on it.`;
    errorAtKey('field.missing', message, 'Give the field address pins, or one value under "fixed".', ['address']);
  }
}

/** Which bits of which fields the address list names; `strange` where it names something that is no field. */
function namedBits(
  address: PinLists,
  widths: ReadonlyMap<string, number>,
): { named: ReadonlyMap<string, ReadonlySet<number>>; strange: boolean } {
  const named = new Map<string, Set<number>>();
  let strange = false;
  for (const reference of Object.keys(address)) {
    if (tiedWords.has(reference)) continue;
    const { name, bits } = readBits(reference, widths);
    if (bits === null) {
      strange = true;
      continue;
    }
    const width = widths.get(name)!;
    // A bit that the field does not have stands for one that it has.
    const meant = bits.some((bit) => bit >= width) ? countedRange(0, width - 1) : bits;
    const there = named.get(name) ?? new Set();
    for (const bit of meant) there.add(bit);
    named.set(name, there);
  }
  return { named, strange };
}

/** The first of the wired outputs that changes with the field, or null. Looks at every setting of the table. */
function outputThatReads(table: Table, wired: ReadonlySet<string>, field: Field, fields: Fields): string | null {
  const { inputs, outputs } = table;
  const index = [...inputs.keys()].indexOf(field.name);
  const values = everyValue(field);
  const isNever = neverMet(inputs.keys(), fields);
  const others = new Map(inputs).set(field.name, 0);
  const widths = [...others.values()];
  const watched = [...outputs.keys()].map((name, k) => ({ name, k })).filter(({ name }) => wired.has(name));
  for (let number = 0; number < 2 ** bitsOf(others); number++) {
    const setting = settingOf(widths, number);
    const seen: (number | undefined)[] = [];
    for (const value of values) {
      setting[index] = value;
      if (isNever(setting)) continue;
      const now = table.at(setting);
      for (const { name, k } of watched) {
        seen[k] ??= now[k];
        if (now[k] !== undefined && now[k] !== seen[k]) return name;
      }
    }
  }
  return null;
}
