// ROMs without a field that their outputs need: an error that only the tables' values can show.
import { type Complaints, complaints } from './complaints.js';
import type { CompiledPlan } from './plan-compiling.js';
import type { Rom } from './rom.js';
import type { Finding, OutputValues } from './table.js';
import { settingOf } from './value-grid.js';

export function missingFieldFindings(plan: CompiledPlan): readonly Finding[] {
  const complaining = complaints();
  for (const rom of plan.roms) {
    for (const [name, bits] of rom.table.inputs) {
      if (!rom.fixed.has(name)) complainOfField(rom, name, bits, complaining);
    }
  }
  return complaining.findings;
}

function complainOfField(rom: Rom, name: string, width: number, { errorAtKey }: Complaints): void {
  const there = rom.address.flatMap((pin) => (pin.kind === 'field' && pin.field === name ? [pin.bit] : []));
  const missing = Array.from({ length: width }, (_, bit) => bit).filter((bit) => !there.includes(bit));
  const path = [...rom.path, 'address'];
  if (missing.length === 0) return;
  if (there.length > 0) {
    const one = missing.length === 1;
    const bits = missing.map((bit) => `${name}.${bit}`).join(', ');
    const message = `The ${one ? 'bit' : 'bits'} ${bits} ${one ? 'has' : 'have'} no pin at the ROM "${rom.name}".`;
    errorAtKey('field.width', message, `The field is ${width} bits wide, and every bit has a pin.`, path);
    return;
  }
  const output = outputThatReads(rom, name);
  if (output === null) return;
  const message = `The field "${name}" does not reach the ROM "${rom.name}", and its output "${output}" depends on it.`;
  errorAtKey('field.missing', message, 'Give the field address pins, or one value under "fixed".', path);
}

/** The first output on the ROM's pins that changes with the field, or null. Looks at every setting of the table. */
function outputThatReads(rom: Rom, field: string): string | null {
  const { inputs, outputs } = rom.table;
  const index = [...inputs.keys()].indexOf(field);
  const width = inputs.get(field)!;
  const others = [...inputs].map(([name, bits]) => (name === field ? 0 : bits));
  const wired = new Set(rom.data.flat().map((b) => b.output));
  const watched = [...outputs.keys()].map((name, k) => ({ name, k })).filter(({ name }) => wired.has(name));
  for (let setting = 0; setting < 2 ** others.reduce((a, b) => a + b, 0); setting++) {
    const values = settingOf(others, setting);
    let first: OutputValues | null = null;
    for (let value = 0; value < 2 ** width; value++) {
      values[index] = value;
      const now = rom.table.at(values);
      first ??= now;
      const differing = watched.find(
        ({ k }) => now[k] !== undefined && first![k] !== undefined && now[k] !== first![k],
      );
      if (differing) return differing.name;
    }
  }
  return null;
}
