// Contents `truth-table`: rows that say which outputs a setting of the fields gives, with don't cares and ranges.
import * as v from 'valibot';
import { nearNames } from '../ground/near-names.js';
import { aboutSchema, nameSchema, outputsSchema, readNumber, widthsOf } from './schema-words.js';
import { holesOf } from './setting-boxes.js';
import { sayDifferences, sayOutputs, saySetting } from './setting-words.js';
import type { Compiled, ContentsKind, Fields, Finding, ListRow, OutputValues, Path, Table } from './table.js';
import { type Choice, readChoice } from './value-choice.js';
import { bitsOf, ValueGrid, widestInputs } from './value-grid.js';

const written = v.union([v.number(), v.string()], 'a number, a name, a range such as 3..5, bits such as 0b1-0, or any');
const values = v.record(nameSchema, written);

const schema = v.strictObject({
  kind: v.literal('truth-table'),
  about: aboutSchema,
  outputs: outputsSchema,
  rows: v.pipe(
    v.array(
      v.strictObject({
        about: aboutSchema,
        when: v.record(nameSchema, v.union([written, v.array(written)], 'a value or a list of values')),
        give: values,
      }),
    ),
    v.minLength(1, 'at least one row'),
  ),
  default: v.optional(values),
});

type Contents = v.InferOutput<typeof schema>;
/** As it is written in a plan. */
export type TruthTableInput = v.InferInput<typeof schema>;

/** Which settings a row matches, by input in the table's order, and what it gives. */
interface Row {
  readonly matches: readonly Choice[];
  /** By output: a value, null for a don't care, undefined where the row says nothing. */
  readonly gives: readonly (number | null | undefined)[];
}

const rowName = (contents: Contents, index: number): string => {
  const { about } = contents.rows[index]!;
  return `row ${index + 1}${about ? ` ("${about}")` : ''}`;
};

class TruthTable implements Table {
  readonly activeLow = new Set<string>();
  readonly #grid: ValueGrid;
  readonly #findings: Finding[] = [];
  /** By output and setting: 1 + the row that said it, 0 for nobody. */
  readonly #saidBy: readonly Uint32Array[];

  constructor(
    readonly contents: Contents,
    readonly inputs: ReadonlyMap<string, number>,
    readonly outputs: ReadonlyMap<string, number>,
    readonly fields: Fields,
    readonly rows: readonly Row[],
    fallback: readonly (number | null | undefined)[],
  ) {
    this.#grid = new ValueGrid(inputs, outputs);
    this.#saidBy = [...outputs].map(() => new Uint32Array(this.#grid.size));
    for (const [index, row] of rows.entries()) this.#write(index, row);
    this.#fillIn(fallback);
  }

  /** Writes one row into all settings that it matches; where an earlier row says something else, once a pair of rows. */
  #write(index: number, row: Row): void {
    const disagreed = new Set<number>();
    for (const cell of cellsOf(row.matches, [...this.inputs.values()])) {
      for (const [k, value] of row.gives.entries()) {
        if (value === undefined) continue;
        const before = this.#saidBy[k]![cell]!;
        const column = this.#grid.column(k);
        if (before === 0) {
          this.#saidBy[k]![cell] = index + 1;
          column[cell] = value ?? -1;
        } else if (column[cell] !== (value ?? -1) && !disagreed.has(before)) {
          disagreed.add(before);
          this.#reportOverlap(index, before - 1, k, cell);
        }
      }
    }
  }

  #reportOverlap(row: number, other: number, output: number, cell: number): void {
    const name = [...this.outputs.keys()][output]!;
    const setting = saySetting(this.inputs.keys(), this.#grid.settingOf(cell), this.fields);
    const says = (r: number): string =>
      `${rowName(this.contents, r)} gives ${name} ${this.rows[r]!.gives[output] ?? "don't care"}`;
    this.#findings.push({
      severity: 'error',
      code: 'row.overlap',
      message: `Two rows disagree at ${setting}: ${says(other)}, ${says(row)}.`,
      why: 'Rows may overlap only where they agree; narrow one of them.',
      path: ['rows', row],
    });
  }

  #fillIn(fallback: readonly (number | null | undefined)[]): void {
    for (const [k, name] of [...this.outputs.keys()].entries()) {
      const said = this.#saidBy[k]!;
      const value = fallback[k];
      if (value !== undefined) {
        const column = this.#grid.column(k);
        for (let cell = 0; cell < said.length; cell++) if (said[cell] === 0) column[cell] = value ?? -1;
      } else this.#reportHoles(name, said);
    }
    const speaking = new Set(this.#saidBy.flatMap((said) => [...new Set(said)]));
    const silent = this.rows.flatMap((_, i) => (speaking.has(i + 1) ? [] : [i]));
    for (const index of silent) {
      this.#findings.push({
        severity: 'warning',
        code: 'row.never',
        message: `${capital(rowName(this.contents, index))} adds nothing: earlier rows say the same for all its settings.`,
        why: 'It can be struck, or its conditions are not what was meant.',
        path: ['rows', index],
      });
    }
  }

  #reportHoles(output: string, said: Uint32Array): void {
    const widths = [...this.inputs.values()];
    const { boxes, settings } = holesOf(widths, (cell) => said[cell] === 0);
    if (settings === 0) return;
    const say = (box: readonly (readonly [number, number])[]): string =>
      [...this.inputs.keys()]
        .flatMap((name, k) => {
          const [from, to] = box[k]!;
          if (from === 0 && to === 2 ** widths[k]! - 1) return [];
          return from === to ? saySetting([name], [from], this.fields) : `${name} ${from}..${to}`;
        })
        .join(', ') || 'every setting';
    const shown = boxes.slice(0, 4).map((box) => `${say(box)}${this.#neighbour(box)}`);
    this.#findings.push({
      severity: 'warning',
      code: 'row.hole',
      message: `No row says what ${output} is at ${shown.join('; ')}${boxes.length > 4 ? '; and more' : ''} (${settings} of ${said.length} settings).`,
      why: 'Add a row or a default; until then the chip keeps there what it has, or holds the output at rest.',
      path: ['rows'],
      onKey: true,
    });
  }

  /** The row that comes nearest to a hole: it differs in one field only. */
  #neighbour(box: readonly (readonly [number, number])[]): string {
    const near = this.rows.findIndex(({ matches }) => matches.filter((m, k) => !m.has(box[k]![0])).length === 1);
    return near < 0 ? '' : `, next to ${rowName(this.contents, near)}`;
  }

  at(inputs: readonly number[]): OutputValues {
    return this.#grid.at(this.#grid.indexOf(inputs));
  }

  explain(inputs: readonly number[]): string {
    const cell = this.#grid.indexOf(inputs);
    const rows = new Set(this.#saidBy.map((said) => said[cell]!).filter((r) => r > 0));
    const by = [...rows].map((r) => rowName(this.contents, r - 1)).join(' and ') || 'no row, the default';
    return `${saySetting(this.inputs.keys(), inputs, this.fields)}: ${sayOutputs(this.outputs, this.at(inputs))} (by ${by})`;
  }

  explainDifference(inputs: readonly number[], wanted: OutputValues, actual: OutputValues): string {
    return `${this.explain(inputs)}; ${sayDifferences(this.outputs, wanted, actual)}`;
  }

  findings(): readonly Finding[] {
    return this.#findings;
  }

  list(): readonly ListRow[] {
    const rows = this.contents.rows.map(({ when, about }, i) => ({
      level: 0,
      when:
        Object.entries(when)
          .map(([name, value]) => `${name} ${[value].flat().join(', ')}`)
          .join('; ') || 'always',
      does: this.#sayGives(this.rows[i]!.gives) + (about ? ` (${about})` : ''),
    }));
    const { default: fallback } = this.contents;
    if (!fallback) return rows;
    return [
      ...rows,
      {
        level: 0,
        when: 'otherwise',
        does: Object.entries(fallback)
          .map(([n, value]) => `${n} ${value}`)
          .join(', '),
      },
    ];
  }

  #sayGives(gives: Row['gives']): string {
    return [...this.outputs.keys()]
      .flatMap((name, k) => (gives[k] === undefined ? [] : `${name} ${gives[k] ?? "don't care"}`))
      .join(', ');
  }
}

const capital = (text: string): string => text.charAt(0).toUpperCase() + text.slice(1);

/** All cells whose setting is in every choice; cost is their number. */
function* cellsOf(matches: readonly Choice[], widths: readonly number[], k = 0, prefix = 0): Generator<number> {
  if (k === widths.length) {
    yield prefix;
    return;
  }
  for (const value of matches[k]!.values) yield* cellsOf(matches, widths, k + 1, (prefix << widths[k]!) | value);
}

/** Reads `give` or `default`: by output in the table's order. */
function readGives(
  given: Readonly<Record<string, string | number>>,
  outputs: ReadonlyMap<string, number>,
  path: Path,
  findings: Finding[],
): (number | null | undefined)[] {
  const values = new Array<number | null | undefined>(outputs.size).fill(undefined);
  const names = [...outputs.keys()];
  for (const [name, written] of Object.entries(given)) {
    const index = names.indexOf(name);
    if (index < 0) {
      findings.push(unknownName('output', name, names, [...path, name]));
      continue;
    }
    if (written === 'any' || written === '-') {
      values[index] = null;
      continue;
    }
    const value = readNumber(written);
    const most = 2 ** outputs.get(name)! - 1;
    if (value === null || value < 0 || value > most) {
      findings.push({
        severity: 'error',
        code: 'output.value',
        message: `"${written}" is no value of ${name}.`,
        why: `It is ${outputs.get(name)} bits wide: 0 to ${most}, or any for don't care.`,
        path: [...path, name],
      });
    } else values[index] = value;
  }
  return values;
}

function unknownName(what: 'field' | 'output', name: string, known: readonly string[], path: Path): Finding {
  const near = nearNames(name, known)[0];
  return {
    severity: 'error',
    code: `${what}.unknown`,
    message: `There is no ${what} "${name}".`,
    why: near ? `Did you mean "${near}"?` : `Known are: ${known.join(', ') || 'none'}.`,
    path,
    onKey: true,
  };
}

export const truthTable: ContentsKind<Contents> = {
  kind: 'truth-table',
  schema,
  compile(contents: Contents, fields: Fields): Compiled {
    const findings: Finding[] = [];
    const outputs = widthsOf(contents.outputs);
    const used = new Set(contents.rows.flatMap(({ when }) => Object.keys(when)));
    const inputs = new Map([...fields].flatMap(([name, f]) => (used.has(name) ? [[name, f.bits] as const] : [])));
    const rows = contents.rows.map(({ when, give }, index): Row => {
      for (const name of Object.keys(when)) {
        if (!fields.has(name))
          findings.push(unknownName('field', name, [...fields.keys()], ['rows', index, 'when', name]));
      }
      const matches = [...inputs.keys()].map((name) => {
        const choice = readChoice(when[name] ?? 'any', fields.get(name)!);
        if (typeof choice !== 'string') return choice;
        const { bits } = fields.get(name)!;
        findings.push({
          severity: 'error',
          code: 'field.value',
          message: `"${choice}" is no value of ${name}.`,
          why: `It is ${bits} bits wide: 0 to ${2 ** bits - 1}, a range 3..5, bits 0b1-0, one of its names, or any.`,
          path: ['rows', index, 'when', name],
        });
        return readChoice('any', fields.get(name)!) as Choice;
      });
      return { matches, gives: readGives(give, outputs, ['rows', index, 'give'], findings) };
    });
    const settings = rows.reduce((sum, { matches }) => sum + matches.reduce((n, m) => n * m.values.length, 1), 0);
    if (settings > mostSettings) findings.push(tooMany(settings));
    const fallback = readGives(contents.default ?? {}, outputs, ['default'], findings);
    if (findings.length > 0 || bitsOf(inputs) > widestInputs) return { table: outlineTable(inputs, outputs), findings };
    return { table: new TruthTable(contents, inputs, outputs, fields, rows, fallback), findings };
  },
};

/** Settings that all rows together may match: far more than any chip has, and still looked through in a moment. */
const mostSettings = 2 ** 23;

const tooMany = (settings: number): Finding => ({
  severity: 'error',
  code: 'contents.too-wide',
  message: `The rows match ${settings} settings together.`,
  why: `At most ${mostSettings} can be worked with: use a default in place of rows that match everything.`,
  path: ['rows'],
  onKey: true,
});

/** With a mistake in a row there is no table to look at, but its outputs are known, so that the pins can still be checked. */
const outlineTable = (inputs: ReadonlyMap<string, number>, outputs: ReadonlyMap<string, number>): Table => ({
  inputs,
  outputs,
  activeLow: new Set(),
  at: () => [...outputs].map(() => undefined),
  explain: () => '',
  findings: () => [],
  list: () => [],
});
