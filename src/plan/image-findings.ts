// What only shows when table and pins are put together: inputs that matter to nothing, outputs that go nowhere, holes.

import { parts } from '../chip/chip-table.js';
import { hex } from '../ground/byte-text.js';
import { addressText } from '../ground/quantity.js';
import type { Image } from '../image/image.js';
import { type Complaints, complaints } from './complaints.js';
import { complainOfFixedValues } from './fixed-values.js';
import { meaningOf } from './look.js';
import type { CompiledPlan } from './plan-compiling.js';
import { AddressReader, type Fill, type Rom } from './rom.js';
import type { Fields, Finding, Table } from './table.js';
import { bitsOf, settingOf } from './value-grid.js';
import { neverMet } from './value-range.js';

/** Warnings about the plan as a whole and about every image. `images` in the order of the ROMs, built without fill. */
export function imageFindings(plan: CompiledPlan, images: readonly Image[]): readonly Finding[] {
  const complaining = complaints();
  complainOfUnreadFields(plan, complaining);
  complainOfFixedValues(plan.roms, complaining);
  for (const table of new Set(plan.roms.map((r) => r.table))) {
    complainOfUnwiredOutputs(
      plan.roms.filter((r) => r.table === table),
      table,
      complaining,
    );
  }
  complainOfIdleInputs(plan.roms, images, complaining);
  for (const [i, rom] of plan.roms.entries()) complainOfUndefinedBytes(rom, images[i]!, plan.fill, complaining);
  return complaining.findings;
}

function complainOfUnreadFields(plan: CompiledPlan, { warningAtKey }: Complaints): void {
  const read = new Set(plan.roms.flatMap((r) => [...r.table.inputs.keys()]));
  const why = 'Whatever it is, the outputs are the same; strike it, or name it where it belongs.';
  for (const name of plan.fields.keys()) {
    if (!read.has(name)) warningAtKey('field.unread', `No contents read the field "${name}".`, why, ['fields', name]);
  }
}

function complainOfUnwiredOutputs(roms: readonly Rom[], table: Table, { warningAtKey }: Complaints): void {
  const wired = new Set(roms.flatMap((r) => r.data.flat().map((b) => `${b.output}.${b.bit}`)));
  const lost = [...table.outputs].map(([name, bits]) => ({
    name,
    whole: bits === 1,
    bits: Array.from({ length: bits }, (_, bit) => bit).filter((bit) => !wired.has(`${name}.${bit}`)),
  }));
  if (lost.every((l) => l.bits.length === 0)) return;
  // A line that is never set, such as the point of a display without decimals, needs no wire.
  const set = everSet(table, roms[0]!.fields);
  for (const [k, { name, whole, bits }] of lost.entries()) {
    const missed = bits.filter((bit) => (set[k]! >>> bit) & 1);
    if (missed.length === 0) {
      // Of one line the contents say themselves that nothing sets it.
      if (whole || set[k] !== 0 || bits.length < table.outputs.get(name)! || table.displayAt) continue;
      const why = 'It can go, or what sets it and its pins are both missing.';
      const message = `Nothing ever sets the output "${name}", and it reaches no data pin.`;
      warningAtKey('output.idle', message, why, [...roms[0]!.path, 'data']);
      continue;
    }
    const one = missed.length === 1;
    const which = whole
      ? `output "${name}"`
      : `${one ? 'bit' : 'bits'} ${missed.map((b) => `${name}.${b}`).join(', ')}`;
    const message = `The ${which} ${one ? 'reaches' : 'reach'} no data pin.`;
    warningAtKey('output.unwired', message, 'The contents set it, but nothing in the circuit can see it.', [
      ...roms[0]!.path,
      'data',
    ]);
  }
}

/** Which bits of every output are 1 at any setting, as masks in the table's order. */
function everSet(table: Table, fields: Fields): number[] {
  const masks = [...table.outputs].map(() => 0);
  const widths = [...table.inputs.values()];
  const isNever = neverMet(table.inputs.keys(), fields);
  for (let number = 0; number < 2 ** bitsOf(table.inputs); number++) {
    const setting = settingOf(widths, number);
    if (isNever(setting)) continue;
    for (const [k, value] of table.at(setting).entries()) masks[k]! |= value ?? 0;
  }
  return masks;
}

/** Address lines of a ROM on which no byte depends, taken out one after the other, so that all can go together. */
function idleLines(rom: Rom, image: Image): readonly number[] {
  const bytes = Uint8Array.from(image.bytes);
  const defined = Uint8Array.from(image.defined);
  return [...rom.address.keys()].filter((line) => foldLine(bytes, defined, line));
}

const bitAt = (rom: Rom, line: number): string | null => {
  const pin = rom.address[line]!;
  return pin.kind === 'field' ? `${pin.field}.${pin.bit}` : null;
};

/**
 * Fields' bits on which nothing depends in any ROM that they reach: chips on one address bus have lines for each other, and a
 * ROM with a fixed field holds a part of its table alone.
 */
function complainOfIdleInputs(roms: readonly Rom[], images: readonly Image[], { warningAtKey }: Complaints): void {
  const idle = new Map(roms.map((rom, i) => [rom, idleLines(rom, images[i]!)]));
  const needed = new Set<string | null>();
  for (const [rom, lines] of idle)
    for (const line of rom.address.keys()) if (!lines.includes(line)) needed.add(bitAt(rom, line));
  const isWhole = (rom: Rom): boolean => rom.fixed.size === 0 || roms.some((r) => r !== rom && r.table === rom.table);
  const found = [...idle].flatMap(([rom, lines]) => {
    const spare = lines.filter((line) => !needed.has(bitAt(rom, line)) || bitAt(rom, line) === null);
    const named = spare.flatMap((line) => (bitAt(rom, line) === null ? [] : [`A${line} (${bitAt(rom, line)})`]));
    return named.length === 0 || !isWhole(rom) ? [] : [{ rom, spare, named: named.join(', ') }];
  });
  const [first, ...more] = found;
  if (first === undefined) return;
  const path = [...first.rom.path, 'address'];
  if (more.length > 0) {
    const each = found.map(({ rom, named }) => `${named} of "${rom.name}"`).join('; ');
    const why = 'No chip of the set needs them: those pins could be tied; or something is missing in the contents.';
    warningAtKey('input.idle', `No output depends on ${each}.`, why, path);
    return;
  }
  const message = `No output of "${first.rom.name}" depends on ${first.named}.`;
  warningAtKey('input.idle', message, sayWithout(first.rom, first.spare.length), path);
}

/** What could be done without so many address lines. */
function sayWithout({ chip }: Rom, lines: number): string {
  const enough = chip.addressLines - lines;
  const smaller = parts
    .filter((p) => p.members !== null && p.addressLines >= enough && p.addressLines < chip.addressLines)
    .sort((a, b) => a.addressLines - b.addressLines)[0];
  return smaller
    ? `${enough} address lines are enough, so a ${smaller.name} would do in place of the ${chip.name}; or something is missing in the contents.`
    : 'Those pins could be tied; or something is missing in the contents.';
}

/** True where no two cells that differ in this line alone disagree; then the two halves are laid over each other. */
function foldLine(bytes: Uint8Array, defined: Uint8Array, line: number): boolean {
  const bit = 1 << line;
  for (let cell = 0; cell < bytes.length; cell++) {
    if (cell & bit) continue;
    if (defined[cell] && defined[cell | bit] && bytes[cell] !== bytes[cell | bit]) return false;
  }
  for (let cell = 0; cell < bytes.length; cell++) {
    const other = cell ^ bit;
    if (defined[cell] || !defined[other]) continue;
    bytes[cell] = bytes[other]!;
    defined[cell] = 1;
  }
  return true;
}

/** Cells that the circuit can meet and about which the contents say nothing. */
function complainOfUndefinedBytes(rom: Rom, image: Image, fill: Fill, { warningAtKey }: Complaints): void {
  const reader = new AddressReader(rom);
  let count = 0;
  let first = -1;
  for (let address = 0; address < image.defined.length; address++) {
    if (image.defined[address] || !reader.reachable(address)) continue;
    if (count++ === 0) first = address;
  }
  if (count === 0) return;
  const where = `the first at ${addressText(first, rom.chip.cells)} (${meaningOf(rom, first)})`;
  const message = `${count} of ${rom.chip.cells} bytes of "${rom.name}" are not defined, ${where}.`;
  const holds = fill === null ? 'what the chip holds there already' : `0x${hex(fill)}, as "fill" says`;
  warningAtKey('cell.undefined', message, `The circuit can meet them, and then reads ${holds}.`, rom.path);
}
