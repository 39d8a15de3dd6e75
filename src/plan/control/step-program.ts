// From the contents of a control store by step to its program: fields, lines, and every step resolved to words.

import { type Complaints, complaints, nearest } from '../complaints.js';
import type { Field, Fields, Finding, Path } from '../table.js';
import { tooWide } from '../value-grid.js';
import { type Buses, unknownBuses } from './bus-traffic.js';
import { type Line, type LineSetting, lineOf, type Word, type WordPool, wordPool } from './control-word.js';
import { bitsOf, canBe, type FlagSpace, flagSpace, type Settings } from './flag-settings.js';
import { compileInstructions, type Instruction, type Unused, unusedOpcodes } from './step-instructions.js';
import { lineNames, type StepNames, stepNames } from './step-names.js';
import type { StepContents, StepSpec } from './step-schema.js';
import { type Step, stepWords } from './step-words.js';

export interface StepProgram {
  readonly opcode: Field;
  readonly step: Field;
  readonly space: FlagSpace;
  /** Settings of the flags that the plan does not call impossible. */
  readonly possible: Settings;
  /** Flags that can change at any moment, as bits of a setting. */
  readonly restless: number;
  readonly buses: Buses;
  readonly lines: readonly Line[];
  readonly pool: WordPool;
  readonly first: readonly Step[];
  readonly instructions: readonly Instruction[];
  /** What the steps hold that no instruction uses. */
  readonly emptyStep: Word;
  /** The plan says that the step counter may run through empty steps back to step 0. */
  readonly wraps: boolean;
  readonly unused: Unused;
}

/** The program and every mistake met on the way; null where the fields that it stands on are unknown. */
export function compileProgram(
  contents: StepContents,
  fields: Fields,
): { readonly program: StepProgram | null; readonly findings: readonly Finding[] } {
  const complaining = complaints();
  const used = usedFields(contents, fields, complaining);
  if (
    used === null ||
    tooWide(
      [used.opcode, used.step, ...used.flags].map((f) => f.bits),
      complaining,
    )
  ) {
    complainOfLineNames(contents, complaining);
    return { program: null, findings: complaining.findings };
  }

  const space = flagSpace(used.flags);
  const lines = linesOf(contents, space, complaining);
  const names = stepNames(space, lines, complaining);
  const buses: Buses = new Map(Object.entries(contents.buses ?? {}).map(([n, b]) => [n, b.undriven ?? 'unknown']));
  checkMeanings(contents, lines, buses, names, complaining);

  const pool = wordPool(lines);
  const possible = possibleSettings(contents, space, names, complaining);
  const ground = { lines, names, pool, possible };
  const resolve = (spec: StepSpec, path: Path): Step => stepWords(spec, path, ground, complaining);
  const first = (contents.first ?? []).map((spec, i) => resolve(spec, ['first', i]));
  const instructions = compileInstructions(contents, used.opcode, used.step, resolve, complaining);
  const restart = restartOf(lines);
  const emptyWord = (what: string | undefined, path: Path): Word => {
    if (what === 'undefined') return pool.unsaid;
    if (what !== 'restart') return pool.word([]);
    if (restart === null) {
      const why = 'Give the line that takes the step counter back to 0 "steps: restart" under "lines".';
      complaining.error('line.no-restart', 'No line of this control store restarts the step counter.', why, path);
    }
    return pool.word(restart === null ? [] : [restart]);
  };
  const emptyStep = emptyWord(contents.unused?.steps, ['unused', 'steps']);
  const unused = unusedOpcodes(contents, instructions, restart !== null, emptyStep, emptyWord, complaining);
  const restless = space.flags
    .filter((f) => !contents.steady?.includes(f.name))
    .reduce((bits, f) => bits | bitsOf(f), 0);
  return {
    program: {
      opcode: used.opcode,
      step: used.step,
      ...{ space, possible, restless, buses, lines, pool, first, instructions, emptyStep, unused },
      wraps: contents.unused?.steps === 'wrap',
    },
    findings: complaining.findings,
  };
}

const linesOf = (contents: StepContents, space: FlagSpace, complaining: Complaints): readonly Line[] =>
  Object.entries(contents.lines).map(([name, spec]) => lineOf(name, spec, space, ['lines', name], complaining));

/** The first line, or code of one, that takes the step counter back. */
function restartOf(lines: readonly Line[]): LineSetting | null {
  for (const [line, { asserted, codes }] of lines.entries()) {
    if (asserted.steps === 'restart') return { line, value: 1 };
    for (const { steps, value } of codes.values()) if (steps === 'restart') return { line, value };
  }
  return null;
}

/** Without its fields there is no program, but the lines that its steps name are known all the same. */
function complainOfLineNames(contents: StepContents, complaining: Complaints): void {
  const linesIn = lineNames(linesOf(contents, flagSpace([]), complaining), complaining);
  const check = (spec: StepSpec, path: Path): void => {
    if (typeof spec === 'string' || Array.isArray(spec)) {
      linesIn(spec, path);
      return;
    }
    linesIn(spec.do, [...path, 'do']);
    spec.cases?.forEach((c, i) => {
      linesIn(c.do, [...path, 'cases', i, 'do']);
    });
  };
  contents.first?.forEach((spec, i) => {
    check(spec, ['first', i]);
  });
  for (const [name, { steps }] of Object.entries(contents.instructions))
    for (const [i, spec] of steps.entries()) check(spec, ['instructions', name, 'steps', i]);
}

interface UsedFields {
  readonly opcode: Field;
  readonly step: Field;
  readonly flags: readonly Field[];
}

function usedFields(contents: StepContents, fields: Fields, { findings, error }: Complaints): UsedFields | null {
  const taken = new Set<string>();
  const take = (name: string, path: Path): Field => {
    const field = fields.get(name);
    if (field === undefined) {
      const known = [...fields.keys()].join(', ');
      const why = `Declare it under "fields"${known === '' ? '' : `; the fields so far are ${known}`}.`;
      error('field.unknown', `There is no field "${name}"${nearest(name, fields.keys())}.`, why, path, {
        unknown: name,
      });
    } else if (taken.has(name)) {
      const why = 'The opcode, the step and each flag are fields of their own.';
      error('field.twice', `The field "${name}" is used twice.`, why, path);
    }
    taken.add(name);
    // Used only where nothing was complained of.
    return field!;
  };
  const opcode = take(contents.opcode, ['opcode']);
  const step = take(contents.step, ['step']);
  const flags = (contents.flags ?? []).map((name, i) => take(name, ['flags', i]));
  return findings.length > 0 ? null : { opcode, step, flags };
}

/** Complains about flags and buses that `lines` and `steady` name and that do not exist. */
function checkMeanings(
  contents: StepContents,
  lines: readonly Line[],
  buses: Buses,
  names: StepNames,
  { add }: Complaints,
): void {
  const checkAll = (flags: string | readonly string[] | undefined, path: Path): void => {
    if (typeof flags === 'string') names.checkFlag(flags, path, false);
    else for (const [i, flag] of (flags ?? []).entries()) names.checkFlag(flag, [...path, i], false);
  };
  checkAll(contents.steady, ['steady']);
  for (const { name, asserted, codes } of lines) {
    const path = ['lines', name];
    const { changes, codes: written = {} } = contents.lines[name] ?? {};
    checkAll(changes, [...path, 'changes']);
    add(unknownBuses([asserted], buses, (_, key) => [...path, key]));
    for (const [code, spec] of Object.entries(written))
      if (typeof spec === 'object') checkAll(spec.changes, [...path, 'codes', code, 'changes']);
    add(unknownBuses([...codes.values()], buses, (i, key) => [...path, 'codes', [...codes.keys()][i]!, key]));
  }
}

function possibleSettings(
  contents: StepContents,
  space: FlagSpace,
  names: StepNames,
  { findings }: Complaints,
): Settings {
  const possible = Uint8Array.from({ length: space.size }, (_, s) => (canBe(space, s) ? 1 : 0));
  (contents.impossible ?? []).forEach((condition, i) => {
    const before = findings.length;
    const never = names.settingsOf(condition, ['impossible', i]);
    // Without what is wrong in it, a condition would take in more than is meant, and much would seem never to happen.
    if (findings.length > before) return;
    for (const s of possible.keys()) if (never[s] === 1) possible[s] = 0;
  });
  return possible;
}
