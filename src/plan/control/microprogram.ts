// A microprogram assembled: every row at its address, its fields set to numbers.

import { type Complaints, complaints, nearest } from '../complaints.js';
import type { Field, Fields, Finding, Path } from '../table.js';
import { tooWide } from '../value-grid.js';
import type { AddressContents } from './address-schema.js';
import type { Action, Buses } from './bus-traffic.js';
import { actionAt } from './coded-output.js';
import { compileDispatches, type Dispatch } from './dispatch-table.js';
import { canBe, type FlagSpace, flagSpace, type Settings } from './flag-settings.js';
import { microCases } from './micro-case.js';
import { type MicroField, microFields } from './micro-field.js';
import { checkFlowWords } from './micro-flow.js';
import { type MicroWord, type RowResolver, rowResolver, targetOf } from './micro-row.js';
import { placeRows, rowForm } from './microprogram-layout.js';
import { readMicroprogram, type TextPlace } from './microprogram-text.js';

/** What a row does under some settings of the inputs; of most rows under all. */
export interface MicroCase extends MicroWord {
  readonly address: number;
  readonly place: TextPlace;
  readonly when: Settings;
}

export interface MicroRow {
  readonly address: number;
  readonly place: TextPlace;
  /** No two of them hold at one setting. */
  readonly cases: readonly MicroCase[];
}

export interface Microprogram {
  readonly address: Field;
  /** The inputs besides the address, and the settings of them that can be. */
  readonly space: FlagSpace;
  readonly possible: Settings;
  readonly fields: readonly MicroField[];
  readonly buses: Buses;
  /** Label to address. */
  readonly labels: ReadonlyMap<string, number>;
  /** Address to its first label. */
  readonly labelAt: ReadonlyMap<number, string>;
  /** Rows by address. */
  readonly rows: ReadonlyMap<number, MicroRow>;
  /** What stands at all other addresses; null where nothing is said. */
  readonly unused: MicroWord | null;
  readonly dispatches: readonly Dispatch[];
  /** Where the store begins after a reset. */
  readonly start: number;
}

export type { MicroWord } from './micro-row.js';

/** All cases of all rows. */
export const casesOf = (program: Microprogram): readonly MicroCase[] =>
  [...program.rows.values()].flatMap(({ cases }) => cases);

/** What stands at an address at one setting of the inputs; null where nothing is written. */
export const wordAt = (program: Microprogram, address: number, setting: number): MicroWord | null => {
  const row = program.rows.get(address);
  return row === undefined ? program.unused : (row.cases.find(({ when }) => when[setting] === 1) ?? null);
};

/** What the chosen codes and lines of a row do. */
export const actionsOf = (fields: readonly MicroField[], values: readonly number[]): readonly Action[] =>
  fields.flatMap((field, i) => actionAt(field, values[i]!) ?? []);

/** The program and every mistake met on the way; null where the address field is unknown. */
export function assemble(
  contents: AddressContents,
  plan: Fields,
): { readonly program: Microprogram | null; readonly findings: readonly Finding[] } {
  const complaining = complaints();
  const address = plan.get(contents.address);
  if (address === undefined) {
    const message = `There is no field "${contents.address}"${nearest(contents.address, plan.keys())}.`;
    const known = [...plan.keys()].join(', ') || 'none yet';
    complaining.error('field.unknown', message, `Declare it under "fields"; the fields are ${known}.`, ['address']);
    return { program: null, findings: complaining.findings };
  }
  const selectors = [...new Set(Object.values(contents.dispatch ?? {}).map((d) => d.by))];
  const asked = askedFields(contents, plan, complaining);
  const inputs = [...new Set([address, ...selectors.flatMap((name) => plan.get(name) ?? []), ...asked])];
  if (
    tooWide(
      inputs.map((f) => f.bits),
      complaining,
    )
  )
    return { program: null, findings: complaining.findings };
  const buses: Buses = new Map(Object.entries(contents.buses ?? {}).map(([n, b]) => [n, b.undriven ?? 'unknown']));
  const fields = microFields(contents, buses, complaining);
  const placed = placeRows(readMicroprogram(contents.program), address, complaining);
  const { labels } = placed;
  const valuesOf = rowResolver(fields, address, labels, complaining);
  const space = flagSpace(asked);
  const possible = Uint8Array.from({ length: space.size }, (_, s) => (canBe(space, s) ? 1 : 0));
  const rows = new Map<number, MicroRow>();
  for (const [at, statement] of placed.rows) {
    const cases = microCases(statement, at, space, possible, valuesOf, complaining);
    rows.set(at, { address: at, place: { line: statement.line, column: statement.column }, cases });
  }
  const target = (text: string | number, path: Path): number => targetOf(text, address, labels, path, complaining);
  const program: Microprogram = {
    ...{ address, space, possible, fields, buses, labels, rows },
    labelAt: firstLabels(labels),
    unused: unusedWord(contents, valuesOf, complaining),
    dispatches: compileDispatches(contents, plan, address, target, complaining),
    start: contents.start === undefined ? 0 : target(contents.start, ['start']),
  };
  checkFlowWords(program, Object.keys(contents.dispatch ?? {}), complaining);
  checkOutputNames(contents, complaining);
  return { program, findings: complaining.findings };
}

/** The fields that `inputs` names. */
function askedFields(contents: AddressContents, plan: Fields, { error }: Complaints): readonly Field[] {
  return (contents.inputs ?? []).flatMap((name, i) => {
    const field = plan.get(name);
    const path = ['inputs', i];
    if (field === undefined || name === contents.address) {
      const message = field
        ? `"${name}" is the address itself.`
        : `There is no field "${name}"${nearest(name, plan.keys())}.`;
      error('field.unknown', message, 'The inputs are other fields of the plan, for which rows ask with "when".', path);
      return [];
    }
    if (contents.inputs!.indexOf(name) === i) return [field];
    error('field.twice', `The field "${name}" is named twice.`, 'Name every input once.', path);
    return [];
  });
}

function firstLabels(labels: ReadonlyMap<string, number>): ReadonlyMap<number, string> {
  const first = new Map<number, string>();
  for (const [label, address] of labels) if (!first.has(address)) first.set(address, label);
  return first;
}

/** Fields of the word, dispatch tables and the following address are all outputs, so their names must differ. */
function checkOutputNames(contents: AddressContents, { error }: Complaints): void {
  const taken = new Set(Object.keys(contents.word));
  const others = Object.keys(contents.dispatch ?? {}).map((name): [string, Path] => [name, ['dispatch', name]]);
  if (contents.following !== undefined) others.push([contents.following, ['following']]);
  for (const [name, path] of others) {
    const why = 'Each is an output with data pins of its own; give one of them another name.';
    const onKey = path[0] === 'dispatch';
    if (taken.has(name)) error('output.twice', `There is an output "${name}" already.`, why, path, { onKey });
    taken.add(name);
  }
}

function unusedWord(contents: AddressContents, valuesOf: RowResolver, { error }: Complaints): MicroWord | null {
  const text = contents.unused ?? 'undefined';
  if (text === 'undefined') return null;
  // An empty text is a row too: every field has its default.
  const [row, ...others] = readMicroprogram(text);
  const settings = row?.kind === 'row' ? row.cases[0]!.settings : [];
  if (others.length > 0 || (row !== undefined && (row.kind !== 'row' || row.cases[0]!.conditions.length > 0))) {
    error('row.wrong', 'What unused addresses hold cannot be read as a row.', rowForm, ['unused']);
  }
  return valuesOf(settings, 0, ['unused'], { line: 0, column: 0 });
}

/** "place 66 (measure + 2)": an address by the nearest label before it, with only rows between. */
export function placeOf(program: Microprogram, address: number): string {
  const name = `${program.address.name} ${address}`;
  for (let at = address; program.rows.has(at); at--) {
    const label = program.labelAt.get(at);
    if (label !== undefined) return `${name} (${label}${at === address ? '' : ` + ${address - at}`})`;
  }
  return name;
}
