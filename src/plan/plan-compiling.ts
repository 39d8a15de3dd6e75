// A plan's plain value to its ROMs: every part is checked by itself, so that one mistake hides no other.
import { findPart } from '../chip/chip-table.js';
import type { Part } from '../chip/part.js';
import { ToolError } from '../ground/errors.js';
import { readAddressPins } from './address-pins.js';
import { type Complaints, complaints, under } from './complaints.js';
import { compileContents } from './contents.js';
import { readDataPins, type WiredOutputs } from './data-pins.js';
import { withoutEchoes } from './echoes.js';
import { readFields, readFixed } from './field-declarations.js';
import { MeantKeys } from './meant-keys.js';
import { complainOfMissingFields } from './missing-fields.js';
import { readBits } from './pin-list.js';
import { planSchema } from './plan-schema.js';
import type { Fill, Rom } from './rom.js';
import { checkShape, isMap } from './schema-mistake.js';
import type { Fields, Finding, Path, ReadFile, Table } from './table.js';
import { readWrittenRom, type WrittenRom } from './written-rom.js';

/** A plan understood: every ROM has a table and all its pins. */
export interface CompiledPlan {
  readonly name: string;
  readonly about: string | null;
  readonly fields: Fields;
  readonly roms: readonly Rom[];
  readonly fill: Fill;
}

export interface Compilation {
  /** Null where a mistake leaves parts of it unknown; then a finding is an error. */
  readonly plan: CompiledPlan | null;
  readonly findings: readonly Finding[];
}

/** Compiles the value that a plan's YAML or module gives. Never throws for a mistake of the builder. */
export function compilePlan(written: unknown, readFile: ReadFile | null): Compilation {
  const complaining = complaints();
  if (!isMap(written)) {
    const why = 'A plan begins with "plan:" and has "fields", "contents" and "roms".';
    complaining.error('shape.value', 'This is not a plan.', why, []);
    return { plan: null, findings: complaining.findings };
  }
  const { output: outer, findings } = checkShape(planSchema, written, 'The plan');
  complaining.add(findings);
  const keys = new MeantKeys();
  const value = keys.read(written, Object.keys(planSchema.entries), []);
  // With a mistake outside, what stands inside is still looked at.
  const declared = value.fields === undefined ? [] : entriesOf(value.fields, 'field', complaining);
  const { fields, broken } = readFields(declared, complaining);
  const shared = readContents(value.contents, fields, readFile, ['contents'], complaining);
  // That the key is not there at all was said with the shape.
  const named = 'roms' in value ? entriesOf(value.roms, 'ROM', complaining) : [];
  const drafts = named.map(([name, rom]) => readRom(name, rom, shared, fields, { complaining, keys, readFile }));

  if (complaining.findings.some((f) => f.severity === 'error')) {
    return { plan: null, findings: withoutEchoes(complaining.findings, broken).map((f) => keys.asWritten(f)) };
  }
  // What could not be read was complained about: without an error all of it is there.
  const { plan: name, about = null, fill } = outer!;
  const roms = drafts as readonly Rom[];
  return { plan: { name, about, fields, roms, fill: fill === 'leave' ? null : fill }, findings: complaining.findings };
}

/** Fields or ROMs of one plan: more than anyone wires. */
const mostNamed = 32;

/** The pairs of a map of named things. */
function entriesOf(value: unknown, what: 'field' | 'ROM', { error }: Complaints): [string, unknown][] {
  const entries = isMap(value) ? Object.entries(value) : [];
  const key = `${what.toLowerCase()}s`;
  if (entries.length > mostNamed) {
    error('shape.value', `"${key}" holds ${entries.length} ${what}s.`, `A plan has at most ${mostNamed}.`, [key]);
    return entries.slice(0, mostNamed);
  }
  if (entries.length === 0) {
    error(
      'shape.value',
      `"${key}" holds no ${what}s.`,
      `It should be a map: the name of each ${what}, and what it is.`,
      [key],
    );
  }
  return entries;
}

/** A ROM as far as it could be read. */
type Draft = { readonly [Key in keyof Rom]: Rom[Key] | null };

interface Contents {
  /** Null where the contents cannot be understood. */
  readonly table: Table | null;
  /** Outputs of different banks may share a pin; where the table is not known, nobody can say which. */
  readonly banked: boolean;
}

/** Null where there are none. */
function readContents(
  written: unknown,
  fields: Fields,
  readFile: ReadFile | null,
  path: Path,
  complaining: Complaints,
): Contents | null {
  if (written === undefined) return null;
  const { table, findings } = compileContents(written, fields, readFile);
  complaining.add(under(path, [...findings, ...(table?.findings() ?? [])]));
  return { table, banked: [written].flat().some((one) => isMap(one) && 'banks' in one) };
}

/** What goes with the reading of one plan. */
interface Reading {
  readonly complaining: Complaints;
  readonly keys: MeantKeys;
  readonly readFile: ReadFile | null;
}

function readRom(
  name: string,
  written: unknown,
  shared: Contents | null,
  fields: Fields,
  { complaining, keys, readFile }: Reading,
): Draft | null {
  const path = ['roms', name];
  const here = complaining.under(path);
  if (!/^[A-Za-z][\w-]{0,63}$/.test(name)) {
    const why = 'A name has letters, digits, - and _, begins with a letter, and becomes a file name.';
    here.errorAtKey('rom.name', `"${name}" cannot be the name of a ROM.`, why, []);
  }
  const rom = readWrittenRom(name, written, (map, known) => keys.read(map, known, path), here);
  if (rom === null) return null;
  const contents = readContents(rom.contents, fields, readFile, [...path, 'contents'], complaining) ?? shared;
  if (contents === null) {
    const why = 'Write "contents" for the whole plan or for this ROM.';
    here.errorAtKey('contents.missing', `The ROM "${name}" has no contents.`, why, []);
  }
  return wireRom(name, rom, contents, fields, path, here);
}

/** What the outputs of contents are that nobody understands: any. */
const anyOutputs = (banked: boolean): WiredOutputs => ({
  outputs: null,
  activeLow: new Set(),
  ...(banked && { neverTogether: () => true }),
});

function wireRom(
  name: string,
  written: WrittenRom,
  contents: Contents | null,
  fields: Fields,
  path: Path,
  here: Complaints,
): Draft {
  const table = contents?.table ?? null;
  const chip = written.chip === null ? null : findChip(written.chip, here);
  const fixed = readFixed(written.fixed, fields, here);
  const address = written.address && readAddressPins(written.address, chip?.addressLines ?? null, fields, here);
  const data = written.data && readDataPins(written.data, table ?? anyOutputs(contents?.banked ?? false), here);
  // Names of fields have no dots: what stands before a dot is the field, whatever its width.
  const wired = new Set(Object.keys(written.address ?? {}).map((reference) => readBits(reference, new Map()).name));
  for (const field of written.fixedNames) {
    if (!wired.has(field)) continue;
    const message = `The field "${field}" is fixed for this ROM and has pins too.`;
    here.errorAtKey('field.fixed', message, 'Strike it in one of the two places.', ['fixed', field]);
  }
  if (table) complainOfMissingFields(name, written, table, fields, here);
  return { name, chip, address, data, fixed, table, fields, path };
}

function findChip(name: string, { error }: Complaints): Part | null {
  try {
    return findPart(name);
  } catch (problem) {
    if (!(problem instanceof ToolError)) throw problem;
    error('chip.unknown', problem.message, problem.note, ['chip']);
    return null;
  }
}
