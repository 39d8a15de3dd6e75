// A control store by microaddress in the builder's words: one row, one difference, the whole table.
import type { ListRow, OutputValues } from '../table.js';
import { numberOfBits } from '../value-range.js';
import { busFaultInWords, busFaults } from './bus-traffic.js';
import { settingInWords as codeInWords, isLine } from './coded-output.js';
import { settingInWords as flagsInWords, settingsInWords } from './flag-settings.js';
import type { MicroField } from './micro-field.js';
import { destinationsOf } from './micro-flow.js';
import { actionsOf, type MicroCase, type Microprogram, type MicroWord, placeOf, wordAt } from './microprogram.js';

/** "source=vane", "lamp.light", "target=fetch (64)". */
function settingInWords(program: Microprogram, field: MicroField, value: number): string {
  return field.holdsAddress ? `${field.name}=${addressInWords(program, value)}` : codeInWords(field, value);
}

function addressInWords(program: Microprogram, address: number): string {
  const label = program.labelAt.get(address);
  return label === undefined ? `${address}` : `${label} (${address})`;
}

/** The fields of a word that its row sets, or "nothing"; with `all` also what the defaults set to something but 0. */
export function wordInWords(program: Microprogram, { values, written }: MicroWord, all: boolean): string {
  const said = program.fields.flatMap((field, i) => {
    const shows = written.has(i) || (all && values[i] !== 0 && !field.holdsAddress);
    return shows ? [settingInWords(program, field, values[i]!)] : [];
  });
  return said.length === 0 ? 'nothing' : said.join(' ');
}

/** "place 66 (measure + 2), when dark=1": a case of a row that has several. */
export function caseInWords(program: Microprogram, { address, when }: MicroCase): string {
  const words = settingsInWords(program.space, when, program.possible);
  return `${placeOf(program, address)}${words === '' ? '' : `, when ${words}`}`;
}

/** "place 66 (measure + 2), dark=1 gale=0". */
export function cellInWords(program: Microprogram, address: number, setting: number): string {
  const inputs = flagsInWords(program.space, setting);
  return `${placeOf(program, address)}${inputs === '' ? '' : `, ${inputs}`}`;
}

/** What one address does, in one line. */
function addressInOneLine(program: Microprogram, address: number, setting: number): string {
  const where = cellInWords(program, address, setting);
  const row = program.rows.get(address)?.cases.find(({ when }) => when[setting] === 1);
  if (row === undefined) {
    return program.unused === null
      ? `${where}: nothing is written here`
      : `${where}, which no row uses: ${wordInWords(program, program.unused, true)}`;
  }
  const goes = destinationsOf(program, row).map((d) =>
    d.kind === 'address' ? addressInWords(program, d.address) : d.kind === 'dispatch' ? d.dispatch.name : d.kind,
  );
  return `${where}: ${wordInWords(program, row, true)}${goes.length > 0 ? `; goes to ${goes.join(' or ')}` : ''}`;
}

/** An output of the table that leads to another address: a dispatch table, or the following address. */
export interface Lead {
  readonly name: string;
  /** Under which inputs, in words: "command=sound". */
  readonly when: string;
  readonly to: number | undefined;
}

/** What one setting of the inputs does, as far as `outputs` go: the row, then where its leads lead. */
export function cellInOneLine(
  program: Microprogram,
  address: number,
  setting: number,
  leads: readonly Lead[],
  outputs: ReadonlySet<string> | undefined,
): string {
  const asked = (name: string): boolean => outputs === undefined || outputs.has(name);
  const row = program.fields.some((field) => asked(field.name)) ? [addressInOneLine(program, address, setting)] : [];
  const led = leads
    .filter(({ name }) => asked(name))
    .map(({ name, when, to }) => {
      const target = to === undefined ? 'anything' : addressInWords(program, to);
      return `${when}: ${name} ${target}`;
    });
  return [...row, ...led].join('; ');
}

/**
 * Which fields and leads differ at one setting, and what that does. `wanted` and `actual` may carry only some bits of a
 * field.
 */
export function differenceInWords(
  program: Microprogram,
  address: number,
  setting: number,
  leads: readonly Lead[],
  wanted: OutputValues,
  actual: OutputValues,
): string {
  // The chips that were not read are taken to be right, so that a field over two chips still has a name for its value.
  const wrongBits = wanted.map((want, i) => (want === undefined ? 0 : want ^ actual[i]!));
  const led = leads.flatMap(({ name, when, to }, i) => {
    const wrong = wrongBits[program.fields.length + i]!;
    if (wrong === 0) return [];
    if (to === undefined) return [`${when}: "${name}" may be anything here, so no harm is done.`];
    const is = addressInWords(program, to ^ wrong);
    return [`${when}: "${name}" should lead to ${addressInWords(program, to)} and leads to ${is}.`];
  });
  return [...rowDifference(program, address, setting, wrongBits), ...led].join('\n');
}

function rowDifference(
  program: Microprogram,
  address: number,
  setting: number,
  wrongBits: readonly number[],
): readonly string[] {
  const differing = program.fields.filter((_, i) => wrongBits[i] !== 0);
  if (differing.length === 0) return [];
  const where = cellInWords(program, address, setting);
  const right = wordAt(program, address, setting)?.values;
  if (right === undefined) {
    const names = differing.map(({ name }) => `"${name}"`).join(' and ');
    return [`${where}: nothing is written here, so ${names} may be anything, and no harm is done.`];
  }
  const seen = right.map((value, i) => value ^ wrongBits[i]!);
  const said = differing.map((field) => {
    const i = program.fields.indexOf(field);
    if (isLine(field)) return `"${field.name}" should be ${right[i] === 1 ? 'on and is off' : 'off and is on'}`;
    return `${settingInWords(program, field, right[i]!)} is wanted, ${settingInWords(program, field, seen[i]!)} is there`;
  });
  const faultsOf = (values: readonly number[]) => busFaults(actionsOf(program.fields, values)).map(busFaultInWords);
  const before = faultsOf(right);
  const consequences = faultsOf(seen).filter((f) => !before.includes(f));
  return [`${where}: ${said.join('; ')}.`, ...consequences.map((f) => `  So ${f}.`)];
}

/** Rows under their labels, with the fields that each sets; then the dispatch tables. */
export function listAddresses(program: Microprogram): readonly ListRow[] {
  const rows: ListRow[] = [];
  for (const row of [...program.rows.values()].sort((a, b) => a.address - b.address)) {
    const label = program.labelAt.get(row.address);
    if (label !== undefined) rows.push({ level: 0, when: label, does: '' });
    for (const one of row.cases) {
      const asked = settingsInWords(program.space, one.when, program.possible);
      const when = [`${program.address.name} ${row.address}`, ...(asked === '' ? [] : [asked])].join(', ');
      rows.push({ level: 1, when, does: wordInWords(program, one, false) });
    }
  }
  if (program.unused !== null) {
    rows.push({ level: 0, when: 'all other addresses', does: wordInWords(program, program.unused, false) });
  }
  for (const { name, by, targets } of program.dispatches) {
    rows.push({ level: 0, when: name, does: '' });
    targets.forEach((target, value) => {
      if (target === undefined) return;
      const when = `${by.name} ${by.names.get(value) ?? numberOfBits(by, value)}`;
      rows.push({ level: 1, when, does: addressInWords(program, target) });
    });
  }
  return rows;
}
