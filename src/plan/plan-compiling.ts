// A plan's plain value to its ROMs: every part is checked by itself, so that one mistake hides no other.
import { findPart } from '../chip/chip-table.js';
import { ToolError } from '../ground/errors.js';
import { compileContents } from './contents.js';
import { fieldSchema, planSchema, type RawRom, romSchema } from './plan-schema.js';
import type { Fill, Rom } from './rom.js';
import { readAddressPins, readDataPins } from './rom-pins.js';
import { checkShape, under } from './schema-mistake.js';
import { nameShape, readNumber } from './schema-words.js';
import type { Field, Fields, Finding, Path, Table } from './table.js';

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

const error = (code: string, message: string, why: string, path: Path, onKey = false): Finding => ({
  severity: 'error',
  code,
  message,
  why,
  path,
  onKey,
});

/** The pairs of a map of named things, or a finding that it is none. */
function entriesOf(value: unknown, key: string, what: string, findings: Finding[]): [string, unknown][] {
  if (typeof value === 'object' && value !== null && !Array.isArray(value)) {
    const entries = Object.entries(value);
    if (entries.length > 0) return entries;
  }
  findings.push(
    error(
      'shape.value',
      `"${key}" holds no ${what}s.`,
      `It should be a map: the name of each ${what}, and what it is.`,
      [key],
    ),
  );
  return [];
}

/** Fields that could be read; names of the others go to `broken`. */
function readFields(value: unknown, findings: Finding[], broken: Set<string>): Fields {
  const fields = new Map<string, Field>();
  if (value === undefined) return fields;
  for (const [name, written] of entriesOf(value, 'fields', 'field', findings)) {
    const path = ['fields', name];
    const reserved = ['low', 'high', 'unused'].includes(name);
    if (!nameShape.test(name) || reserved || name.length > 64) {
      findings.push(
        error(
          'field.name',
          `"${name}" cannot be the name of a field.`,
          reserved
            ? 'The words low, high and unused name pins that carry no field.'
            : 'A name has letters, digits, - and _ and begins with a letter.',
          path,
          true,
        ),
      );
    }
    const { output, findings: wrong } = checkShape(fieldSchema, written, `The field "${name}"`);
    findings.push(...under(path, wrong));
    if (output === null) {
      broken.add(name);
      continue;
    }
    const { bits, scanned, names } = typeof output === 'number' ? { bits: output, scanned: false, names: {} } : output;
    for (const [word, n] of Object.entries(names)) {
      if (n >= 2 ** bits)
        findings.push(
          error(
            'field.value',
            `${n} ("${word}") is no value of ${name}.`,
            `It is ${bits} bits wide: 0 to ${2 ** bits - 1}.`,
            [...path, 'names', word],
          ),
        );
    }
    fields.set(name, { name, bits, scanned, names: new Map(Object.entries(names).map(([word, n]) => [n, word])) });
  }
  return fields;
}

function findChip(name: string, path: Path, findings: Finding[]) {
  try {
    return findPart(name);
  } catch (problem) {
    if (!(problem instanceof ToolError)) throw problem;
    findings.push(error('chip.unknown', problem.message, problem.note, path));
    return null;
  }
}

function readFixed(raw: RawRom, fields: Fields, findings: Finding[], path: Path): ReadonlyMap<string, number> {
  const fixed = new Map<string, number>();
  for (const [name, written] of Object.entries(raw.fixed)) {
    const field = fields.get(name);
    const named = field && [...field.names].find(([, word]) => word === written)?.[0];
    const value = named ?? readNumber(written);
    const at = [...path, 'fixed', name];
    if (!field)
      findings.push(
        error(
          'field.unknown',
          `There is no field "${name}".`,
          `Known are: ${[...fields.keys()].join(', ') || 'none'}.`,
          at,
          true,
        ),
      );
    else if (value === null || value < 0 || value >= 2 ** field.bits) {
      findings.push(
        error(
          'field.value',
          `"${written}" is no value of ${name}.`,
          `It is ${field.bits} bits wide: 0 to ${2 ** field.bits - 1}.`,
          at,
        ),
      );
    } else fixed.set(name, value);
  }
  return fixed;
}

function compileRom(
  name: string,
  raw: RawRom,
  table: Table | null,
  fields: Fields,
  path: Path,
  findings: Finding[],
): Rom | null {
  const chip = findChip(raw.chip, [...path, 'chip'], findings);
  const fixed = readFixed(raw, fields, findings, path);
  const report = (
    code: string,
    message: string,
    why: string,
    at: Path,
    severity: Finding['severity'] = 'error',
    onKey = false,
  ) => findings.push({ severity, code, message, why, path: [...path, ...at], onKey });
  const address = chip && readAddressPins(raw.address, chip, fields, report);
  const data = table && readDataPins(raw.data, table, report);
  for (const pin of address ?? []) {
    if (pin.kind !== 'field' || !fixed.has(pin.field)) continue;
    report(
      'field.fixed',
      `The field "${pin.field}" is fixed for this ROM and has pins too.`,
      'Strike it in one of the two places.',
      ['fixed', pin.field],
      'error',
      true,
    );
  }
  return chip && table && address && data ? { name, chip, address, data, fixed, table, path } : null;
}

/** Compiles the value that a plan's YAML or module gives. Never throws for a mistake of the builder. */
export function compilePlan(value: unknown): Compilation {
  if (typeof value !== 'object' || value === null || Array.isArray(value)) {
    const why = 'A plan begins with "plan:" and has "fields", "contents" and "roms".';
    return { plan: null, findings: [error('shape.value', 'This is not a plan.', why, [])] };
  }
  const findings: Finding[] = [];
  const broken = new Set<string>();
  const outer = checkShape(planSchema, value, 'The plan');
  findings.push(...outer.findings);
  const raw = value as { fields?: unknown; contents?: unknown; roms?: unknown };
  const fields = readFields(raw.fields, findings, broken);
  const shared = raw.contents === undefined ? null : compileContents(raw.contents, fields);
  if (shared) findings.push(...under(['contents'], shared.findings), ...tableFindings(shared.table, ['contents']));

  const named = raw.roms === undefined ? [] : entriesOf(raw.roms, 'roms', 'ROM', findings);
  const roms = named.map(([name, written]) => {
    const path = ['roms', name];
    if (!/^[A-Za-z][\w-]{0,63}$/.test(name))
      findings.push(
        error(
          'rom.name',
          `"${name}" cannot be the name of a ROM.`,
          'A name has letters, digits, - and _, begins with a letter, and becomes a file name.',
          path,
          true,
        ),
      );
    const { output, findings: wrong } = checkShape(romSchema, written, `The ROM "${name}"`);
    findings.push(...under(path, wrong));
    if (output === null) return null;
    const own = output.contents === undefined ? shared : compileContents(output.contents, fields);
    if (own && own !== shared) {
      const at = [...path, 'contents'];
      findings.push(...under(at, own.findings), ...tableFindings(own.table, at));
    }
    if (!own)
      findings.push(
        error(
          'contents.missing',
          `The ROM "${name}" has no contents.`,
          'Write "contents" for the whole plan or for this ROM.',
          path,
          true,
        ),
      );
    return compileRom(name, output, own?.table ?? null, fields, path, findings);
  });
  const complete = outer.output !== null && roms.length > 0 && roms.every((r) => r !== null);
  if (!complete || findings.some((f) => f.severity === 'error'))
    return { plan: null, findings: withoutEchoes(findings, broken) };
  const { plan: name, about = null, fill } = outer.output;
  return { plan: { name, about, fields, roms, fill: fill === 'leave' ? null : fill }, findings };
}

/** A field whose declaration is wrong was reported there; that nobody knows it elsewhere is an echo. */
const withoutEchoes = (findings: readonly Finding[], broken: ReadonlySet<string>): readonly Finding[] =>
  findings.filter((f) => f.code !== 'field.unknown' || ![...broken].some((name) => f.message.includes(`"${name}"`)));

/** A table's own findings; what compiling said already is not said twice. */
const tableFindings = (table: Table | null, at: Path): readonly Finding[] => (table ? under(at, table.findings()) : []);
