// A plan's plain value to its ROMs: every part is checked by itself, so that one mistake hides no other.
import { findPart } from '../chip/chip-table.js';
import type { Part } from '../chip/part.js';
import { ToolError } from '../ground/errors.js';
import { readAddressPins } from './address-pins.js';
import { type Complaints, complaints, under } from './complaints.js';
import { compileContents } from './contents.js';
import { readDataPins } from './data-pins.js';
import { readFields, readFixed } from './field-declarations.js';
import { planSchema, type RawRom, romSchema } from './plan-schema.js';
import type { Fill, Rom } from './rom.js';
import { checkShape } from './schema-mistake.js';
import type { Fields, Finding, Path, Table } from './table.js';

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
export function compilePlan(value: unknown): Compilation {
  const complaining = complaints();
  if (typeof value !== 'object' || value === null || Array.isArray(value)) {
    const why = 'A plan begins with "plan:" and has "fields", "contents" and "roms".';
    complaining.error('shape.value', 'This is not a plan.', why, []);
    return { plan: null, findings: complaining.findings };
  }
  const { output: outer, findings } = checkShape(planSchema, value, 'The plan');
  complaining.add(findings);
  // With a mistake outside, what stands inside is still looked at.
  const raw = value as { fields?: unknown; contents?: unknown; roms?: unknown };
  const { fields, broken } = readFields(entriesOf(raw.fields, 'field', complaining), complaining);
  const shared = compileTable(raw.contents, fields, ['contents'], complaining);
  const roms = entriesOf(raw.roms, 'ROM', complaining).map(([name, written]) =>
    readRom(name, written, shared, fields, complaining),
  );

  const whole = outer !== null && roms.length > 0 && roms.every((r) => r !== null);
  if (!whole || complaining.findings.some((f) => f.severity === 'error')) {
    return { plan: null, findings: withoutEchoes(complaining.findings, broken) };
  }
  const { plan: name, about = null, fill } = outer;
  return { plan: { name, about, fields, roms, fill: fill === 'leave' ? null : fill }, findings: complaining.findings };
}

/** Fields or ROMs of one plan: more than anyone wires. */
const mostNamed = 32;

/** The pairs of a map of named things; none where the key is left out. */
function entriesOf(value: unknown, what: 'field' | 'ROM', { error }: Complaints): [string, unknown][] {
  if (value === undefined) return [];
  const entries = typeof value === 'object' && value !== null && !Array.isArray(value) ? Object.entries(value) : [];
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

/** A table, null where the contents cannot be understood, or undefined where there are none. */
function compileTable(
  contents: unknown,
  fields: Fields,
  path: Path,
  complaining: Complaints,
): Table | null | undefined {
  if (contents === undefined) return undefined;
  const { table, findings } = compileContents(contents, fields);
  complaining.add(under(path, [...findings, ...(table?.findings() ?? [])]));
  return table;
}

function readRom(
  name: string,
  written: unknown,
  shared: Table | null | undefined,
  fields: Fields,
  complaining: Complaints,
): Rom | null {
  const path = ['roms', name];
  const here = complaining.under(path);
  if (!/^[A-Za-z][\w-]{0,63}$/.test(name)) {
    const why = 'A name has letters, digits, - and _, begins with a letter, and becomes a file name.';
    here.errorAtKey('rom.name', `"${name}" cannot be the name of a ROM.`, why, []);
  }
  const { output: raw, findings } = checkShape(romSchema, written, `The ROM "${name}"`);
  here.add(findings);
  if (raw === null) return null;
  const own = compileTable(raw.contents, fields, [...path, 'contents'], complaining);
  const table = own === undefined ? shared : own;
  if (table === undefined) {
    const why = 'Write "contents" for the whole plan or for this ROM.';
    here.errorAtKey('contents.missing', `The ROM "${name}" has no contents.`, why, []);
  }
  return wireRom(name, raw, table ?? null, fields, path, here);
}

function wireRom(
  name: string,
  raw: RawRom,
  table: Table | null,
  fields: Fields,
  path: Path,
  here: Complaints,
): Rom | null {
  const chip = findChip(raw.chip, here);
  const fixed = readFixed(raw.fixed, fields, here);
  const address = chip && readAddressPins(raw.address, chip, fields, here);
  const data = table && readDataPins(raw.data, table, here);
  const wired = new Set(address?.flatMap((pin) => (pin.kind === 'field' ? [pin.field] : [])));
  for (const field of fixed.keys()) {
    if (!wired.has(field)) continue;
    const message = `The field "${field}" is fixed for this ROM and has pins too.`;
    here.errorAtKey('field.fixed', message, 'Strike it in one of the two places.', ['fixed', field]);
  }
  return chip && table && address && data ? { name, chip, address, data, fixed, table, path } : null;
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

/** A field whose declaration is wrong was reported there; that nobody knows it elsewhere is an echo. */
const withoutEchoes = (findings: readonly Finding[], broken: ReadonlySet<string>): readonly Finding[] =>
  findings.filter((f) => f.code !== 'field.unknown' || ![...broken].some((name) => f.message.includes(`"${name}"`)));
