// ROMs of one table that differ only by what is fixed for them, such as a ROM for each digit.
import type { Complaints } from './complaints.js';
import type { Rom } from './rom.js';
import { sayField } from './setting-words.js';
import type { Table } from './table.js';
import { bitsOf, settingOf } from './value-grid.js';
import { everyValue } from './value-range.js';

/** Complains of two such ROMs with the same value, where another value of the table has none. */
export function complainOfFixedValues(roms: readonly Rom[], { warningAtKey }: Complaints): void {
  for (const alike of groupsOf(roms)) {
    for (const [i, rom] of alike.entries()) {
      const twin = alike.slice(0, i).find((other) => sameFixed(other, rom));
      if (twin === undefined) continue;
      for (const [name, value] of rom.fixed) {
        const missing = valueWithoutRom(alike, name);
        if (missing === null) continue;
        const both = sayField(name, value, rom.fields);
        const message = `"${twin.name}" and "${rom.name}" are both fixed at ${both}, and no ROM is at ${sayField(name, missing, rom.fields)}.`;
        const why = 'Both hold the same bytes; one of them was probably meant for the other value.';
        warningAtKey('fixed.twice', message, why, [...rom.path, 'fixed', name]);
      }
    }
  }
}

/** ROMs of one table that carry the same outputs and have the same fields fixed. */
function groupsOf(roms: readonly Rom[]): readonly (readonly Rom[])[] {
  const tables: Table[] = [];
  const groups = new Map<string, Rom[]>();
  for (const rom of roms) {
    if (rom.fixed.size === 0) continue;
    if (!tables.includes(rom.table)) tables.push(rom.table);
    const carried = rom.data.flat().map(({ output, bit }) => `${output}.${bit}`);
    const key = [tables.indexOf(rom.table), ...carried.sort(), ...[...rom.fixed.keys()].sort()].join();
    groups.set(key, [...(groups.get(key) ?? []), rom]);
  }
  return [...groups.values()];
}

const sameFixed = (one: Rom, other: Rom): boolean =>
  [...one.fixed].every(([name, value]) => other.fixed.get(name) === value);

/** A value of the field for which the table says something, and that none of these ROMs has. */
function valueWithoutRom(roms: readonly Rom[], name: string): number | null {
  const { table, fields } = roms[0]!;
  const k = [...table.inputs.keys()].indexOf(name);
  const there = new Set(roms.map((rom) => rom.fixed.get(name)));
  const open = everyValue(fields.get(name)!).filter((value) => !there.has(value));
  if (k < 0 || open.length === 0) return null;
  const widths = [...table.inputs.values()];
  const spoken = new Set<number>();
  for (let number = 0; number < 2 ** bitsOf(table.inputs); number++) {
    const setting = settingOf(widths, number);
    if (table.at(setting).some((value) => value !== undefined)) spoken.add(setting[k]!);
  }
  return open.find((value) => spoken.has(value)) ?? null;
}
