// What only shows when table and pins are put together: inputs that matter to nothing, outputs that go nowhere, holes.
import { parts } from '../chip/chip-table.js';
import type { Image } from '../image/image.js';
import type { CompiledPlan } from './plan-compiling.js';
import { AddressReader, type Rom } from './rom.js';
import type { Finding, OutputValues, Table } from './table.js';
import { bitsOf } from './value-grid.js';

/** Errors that need the tables' values: a ROM without a field that its outputs need. */
export function missingFieldFindings(plan: CompiledPlan): readonly Finding[] {
  return plan.roms.flatMap((rom) => {
    const there = new Set([...rom.fixed.keys(), ...rom.address.flatMap((p) => (p.kind === 'field' ? [p.field] : []))]);
    const missing = [...rom.table.inputs.keys()].filter((name) => !there.has(name));
    return [...missing.flatMap((name) => missingField(rom, name)), ...missingBits(rom, there)];
  });
}

function missingField(rom: Rom, name: string): readonly Finding[] {
  const output = outputThatReads(rom, name);
  if (output === null) return [];
  return [
    {
      severity: 'error',
      code: 'field.missing',
      message: `The field "${name}" does not reach the ROM "${rom.name}", and its output "${output}" depends on it.`,
      why: 'Give the field address pins, or one value under "fixed".',
      path: [...rom.path, 'address'],
      onKey: true,
    },
  ];
}

function* missingBits(rom: Rom, there: ReadonlySet<string>): Generator<Finding> {
  for (const name of there) {
    if (rom.fixed.has(name)) continue;
    const bits = rom.address.flatMap((p) => (p.kind === 'field' && p.field === name ? [p.bit] : []));
    const width = rom.table.inputs.get(name) ?? 0;
    const missing = Array.from({ length: width }, (_, i) => i).filter((b) => !bits.includes(b));
    if (missing.length === 0) continue;
    yield {
      severity: 'error',
      code: 'field.width',
      message: `The ${missing.length === 1 ? 'bit' : 'bits'} ${missing.map((b) => `${name}.${b}`).join(', ')} ${missing.length === 1 ? 'has' : 'have'} no pin at the ROM "${rom.name}".`,
      why: `The field is ${width} bits wide, and every bit has a pin.`,
      path: [...rom.path, 'address'],
      onKey: true,
    };
  }
}

/** The first output on the ROM's pins that changes with the field, or null. Looks at every setting of the table. */
function outputThatReads(rom: Rom, field: string): string | null {
  const { inputs } = rom.table;
  const names = [...inputs.keys()];
  const widths = [...inputs.values()];
  const index = names.indexOf(field);
  const wired = new Set(rom.data.flat().map((b) => b.output));
  const watched = [...rom.table.outputs.keys()].map((name, k) => ({ name, k })).filter(({ name }) => wired.has(name));
  const others = widths.map((bits, k) => (k === index ? 0 : bits));
  const settings = 2 ** others.reduce((a, b) => a + b, 0);
  for (let setting = 0; setting < settings; setting++) {
    const values = others.map(() => 0);
    for (let k = others.length - 1, rest = setting; k >= 0; k--) {
      values[k] = rest & (2 ** others[k]! - 1);
      rest >>= others[k]!;
    }
    let first: OutputValues | null = null;
    for (let value = 0; value < 2 ** widths[index]!; value++) {
      values[index] = value;
      const now = rom.table.at(values);
      const differing =
        first && watched.find(({ k }) => now[k] !== undefined && first![k] !== undefined && now[k] !== first![k]);
      if (differing) return differing.name;
      first ??= now;
    }
  }
  return null;
}

/** Outputs of a table that ever are anything but 0, bit by bit, as masks in the table's order. */
function everSet(table: Table): number[] {
  const masks = [...table.outputs].map(() => 0);
  const widths = [...table.inputs.values()];
  for (let setting = 0; setting < 2 ** bitsOf(table.inputs); setting++) {
    const values = widths.map(() => 0);
    for (let k = widths.length - 1, rest = setting; k >= 0; k--) {
      values[k] = rest & (2 ** widths[k]! - 1);
      rest >>= widths[k]!;
    }
    for (const [k, value] of table.at(values).entries()) masks[k]! |= value ?? 0;
  }
  return masks;
}

/** Warnings about the plan as a whole and about every image. `images` in the order of the ROMs. */
export function imageFindings(plan: CompiledPlan, images: readonly Image[]): readonly Finding[] {
  return [
    ...unusedFields(plan),
    ...[...new Set(plan.roms.map((r) => r.table))].flatMap((table) => [...unwiredOutputs(plan, table)]),
    ...plan.roms.flatMap((rom, i) => [...idleInputs(rom, images[i]!), ...undefinedBytes(plan, rom)]),
  ];
}

function unusedFields(plan: CompiledPlan): readonly Finding[] {
  const read = new Set(plan.roms.flatMap((r) => [...r.table.inputs.keys()]));
  return [...plan.fields.keys()].flatMap((name) =>
    read.has(name)
      ? []
      : [
          {
            severity: 'warning' as const,
            code: 'field.unread',
            message: `No contents read the field "${name}".`,
            why: 'Whatever it is, the outputs are the same; strike it, or name it where it belongs.',
            path: ['fields', name],
            onKey: true,
          },
        ],
  );
}

function* unwiredOutputs(plan: CompiledPlan, table: Table): Generator<Finding> {
  const roms = plan.roms.filter((r) => r.table === table);
  const wired = new Set(roms.flatMap((r) => r.data.flat().map((b) => `${b.output}.${b.bit}`)));
  const bitsThat = [...table.outputs].map(([name, bits]) => ({
    name,
    bits: Array.from({ length: bits }, (_, i) => i),
  }));
  if (bitsThat.every(({ name, bits }) => bits.every((b) => wired.has(`${name}.${b}`)))) return;
  const masks = everSet(table);
  for (const [k, { name, bits }] of bitsThat.entries()) {
    const lost = bits.filter((b) => !wired.has(`${name}.${b}`) && (masks[k]! >>> b) & 1);
    if (lost.length === 0) continue;
    const which =
      bits.length === 1
        ? `output "${name}"`
        : `${lost.length === 1 ? 'bit' : 'bits'} ${lost.map((b) => `${name}.${b}`).join(', ')}`;
    yield {
      severity: 'warning',
      code: 'output.unwired',
      message: `The ${which} ${lost.length === 1 ? 'reaches' : 'reach'} no data pin.`,
      why: 'The contents set it, but nothing in the circuit can see it.',
      path: [...roms[0]!.path, 'data'],
      onKey: true,
    };
  }
}

/** Address pins with a field on which no byte depends, taken out one after the other, so that all named can go together. */
function* idleInputs(rom: Rom, image: Image): Generator<Finding> {
  const bytes = Uint8Array.from(image.bytes);
  const defined = Uint8Array.from(image.defined);
  const idle = [...rom.address.keys()].filter((pin) => foldLine(bytes, defined, pin));
  const withField = idle.filter((pin) => rom.address[pin]!.kind === 'field');
  if (withField.length === 0) return;
  const says = withField.map((pin) => {
    const carries = rom.address[pin]!;
    return carries.kind === 'field' ? `A${pin} (${carries.field}.${carries.bit})` : `A${pin}`;
  });
  const needed = rom.chip.addressLines - idle.length;
  const smaller = parts
    .filter((p) => p.members !== null && p.addressLines >= needed && p.addressLines < rom.chip.addressLines)
    .sort((a, b) => a.addressLines - b.addressLines)[0];
  yield {
    severity: 'warning',
    code: 'input.idle',
    message: `No output of "${rom.name}" depends on ${says.join(', ')}.`,
    why: smaller
      ? `${needed} address lines are enough, so a ${smaller.name} would do in place of the ${rom.chip.name}; or something is missing in the contents.`
      : 'Those pins could be tied; or something is missing in the contents.',
    path: [...rom.path, 'address'],
    onKey: true,
  };
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
function* undefinedBytes(plan: CompiledPlan, rom: Rom): Generator<Finding> {
  const reader = new AddressReader(rom);
  const order = [...rom.table.outputs.keys()];
  const wired = [...new Set(rom.data.flat().map((b) => order.indexOf(b.output)))];
  let count = 0;
  let first = -1;
  for (let address = 0; address < rom.chip.cells; address++) {
    if (!reader.reachable(address)) continue;
    const values = rom.table.at(reader.inputsAt(address));
    if (wired.some((k) => values[k] !== undefined)) continue;
    if (count++ === 0) first = address;
  }
  if (count === 0) return;
  const holds =
    plan.fill === null
      ? 'what the chip holds there already'
      : `0x${plan.fill.toString(16).toUpperCase().padStart(2, '0')}, as "fill" says`;
  yield {
    severity: 'warning',
    code: 'cell.undefined',
    message: `${count} of ${rom.chip.cells} bytes of "${rom.name}" are not defined, the first at 0x${first.toString(16).toUpperCase()} (${rom.table.explain(reader.inputsAt(first))}).`,
    why: `The circuit can meet them, and then reads ${holds}.`,
    path: rom.path,
    onKey: true,
  };
}
