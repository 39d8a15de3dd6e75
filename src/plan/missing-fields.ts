// ROMs without a field that their outputs need: an error that only the tables' values can show.
import { tiedWords } from './address-pins.js';
import type { Complaints } from './complaints.js';
import { readBits } from './pin-list.js';
import type { Fields, OutputValues, Table } from './table.js';
import { settingOf } from './value-grid.js';
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
  const named = namedBits(address, new Map([...fields].map(([name, { bits }]) => [name, bits])));
  const wired = new Set(Object.keys(data ?? {}).map((reference) => readBits(reference, table.outputs).name));
  for (const [name, width] of table.inputs) {
    if (fixedNames.includes(name)) continue;
    const there = named.get(name);
    const missing = Array.from({ length: width }, (_, bit) => bit).filter((bit) => !there?.has(bit));
    if (missing.length === 0) continue;
    if (there) {
      const one = missing.length === 1;
      const bits = missing.map((bit) => `${name}.${bit}`).join(', ');
      const message = `The ${one ? 'bit' : 'bits'} ${bits} ${one ? 'has' : 'have'} no pin at the ROM "${rom}".`;
      errorAtKey('field.width', message, `The field is ${width} bits wide, and every bit has a pin.`, ['address']);
      continue;
    }
    // A name that nobody knows may be this field, mistyped.
    const output = named.has(null) || table.outline ? null : outputThatReads(table, wired, name);
    if (output === null) continue;
    const message = `The field "${name}" does not reach the ROM "${rom}", and its output "${output}" depends on it.`;
    errorAtKey('field.missing', message, 'Give the field address pins, or one value under "fixed".', ['address']);
  }
}

/** Which bits of which fields the address list names; under null what it names that is no field. */
function namedBits(
  address: PinLists,
  widths: ReadonlyMap<string, number>,
): ReadonlyMap<string | null, ReadonlySet<number>> {
  const named = new Map<string | null, Set<number>>();
  for (const reference of Object.keys(address)) {
    if (tiedWords.has(reference)) continue;
    const { name, bits } = readBits(reference, widths);
    const key = bits === null ? null : name;
    const width = widths.get(name) ?? 0;
    // A bit that the field does not have stands for one that it has.
    const meant = bits?.some((bit) => bit >= width) ? Array.from({ length: width }, (_, bit) => bit) : bits;
    named.set(key, new Set([...(named.get(key) ?? []), ...(meant ?? [])]));
  }
  return named;
}

/** The first of the wired outputs that changes with the field, or null. Looks at every setting of the table. */
function outputThatReads(table: Table, wired: ReadonlySet<string>, field: string): string | null {
  const { inputs, outputs } = table;
  const index = [...inputs.keys()].indexOf(field);
  const width = inputs.get(field)!;
  const others = [...inputs].map(([name, bits]) => (name === field ? 0 : bits));
  const watched = [...outputs.keys()].map((name, k) => ({ name, k })).filter(({ name }) => wired.has(name));
  for (let setting = 0; setting < 2 ** others.reduce((a, b) => a + b, 0); setting++) {
    const values = settingOf(others, setting);
    let first: OutputValues | null = null;
    for (let value = 0; value < 2 ** width; value++) {
      values[index] = value;
      const now = table.at(values);
      first ??= now;
      const differing = watched.find(
        ({ k }) => now[k] !== undefined && first![k] !== undefined && now[k] !== first![k],
      );
      if (differing) return differing.name;
    }
  }
  return null;
}
