// A truth table laid out over all settings of its inputs: who said what, where rows disagree, and what nobody said.
import { complaints } from './complaints.js';
import { widthsOf } from './output-declarations.js';
import { type Box, holesOf } from './setting-boxes.js';
import { sayDifferences, sayField, sayOutputs, saySetting } from './setting-words.js';
import type { Fields, Finding, ListRow, OutputValues, Table } from './table.js';
import { cellsOf, type Gives, rowName, type TruthRow } from './truth-row.js';
import type { TruthTableContents } from './truth-table.js';
import { ValueGrid } from './value-grid.js';
import { neverMet } from './value-range.js';

/** Pairs of rows that disagree are said up to this many; the rest would be the same mistake again. */
const mostOverlaps = 50;

export class TruthTable implements Table {
  readonly activeLow = new Set<string>();
  readonly #grid: ValueGrid;
  readonly #complaints = complaints();
  /** By output and setting: 1 + the row that said it, 0 for nobody. */
  readonly #saidBy: readonly Uint32Array[];
  readonly #widths: readonly number[];
  /** Rows that contradict an earlier one: that they say nothing new is not true of them. */
  readonly #contradicting = new Set<number>();
  readonly outputs: ReadonlyMap<string, number>;

  constructor(
    readonly contents: TruthTableContents,
    readonly inputs: ReadonlyMap<string, number>,
    readonly declared: Fields,
    readonly fields: Fields,
    readonly rows: readonly TruthRow[],
    fallback: Gives,
  ) {
    this.outputs = widthsOf(declared);
    this.#grid = new ValueGrid(inputs, this.outputs);
    this.#widths = [...inputs.values()];
    this.#saidBy = [...declared].map(() => new Uint32Array(this.#grid.size));
    for (const [index, row] of rows.entries()) this.#write(index, row);
    for (const [k, name] of [...declared.keys()].entries()) this.#writeFallback(k, name, fallback[k]);
    this.#complainOfSilentRows();
  }

  /** Writes one row into all settings that it matches; where an earlier row says something else, once a pair of rows. */
  #write(index: number, row: TruthRow): void {
    const disagreed = new Set<number>();
    for (const cell of cellsOf(row.matches, this.#widths)) {
      for (const [k, value] of row.gives.entries()) {
        if (value === undefined) continue;
        const said = this.#saidBy[k]!;
        const column = this.#grid.column(k);
        const before = said[cell]!;
        if (before === 0) {
          said[cell] = index + 1;
          column[cell] = value ?? -1;
        } else if (column[cell] !== (value ?? -1) && !disagreed.has(before)) {
          disagreed.add(before);
          this.#contradicting.add(index);
          this.#complainOfOverlap(index, before - 1, k, cell);
        }
      }
    }
  }

  #complainOfOverlap(row: number, other: number, output: number, cell: number): void {
    if (this.#complaints.findings.length >= mostOverlaps) return;
    const [name] = [...this.declared.keys()].slice(output);
    const says = (r: number): string => {
      const value = this.rows[r]!.gives[output];
      return `${rowName(this.rows[r]!, r)} gives ${value == null ? `${name} don't care` : sayField(name!, value, this.declared)}`;
    };
    const message = `Two rows disagree at ${this.#saySetting(cell)}: ${says(other)}, ${says(row)}.`;
    this.#complaints.error('row.overlap', message, 'Rows may overlap only where they agree; narrow one of them.', [
      'rows',
      row,
    ]);
  }

  #writeFallback(output: number, name: string, value: Gives[number]): void {
    const said = this.#saidBy[output]!;
    if (value === undefined) {
      this.#complainOfHoles(name, said);
      return;
    }
    const column = this.#grid.column(output);
    for (let cell = 0; cell < said.length; cell++) if (said[cell] === 0) column[cell] = value ?? -1;
  }

  #complainOfHoles(output: string, said: Uint32Array): void {
    const isNever = neverMet(this.inputs.keys(), this.fields);
    const { boxes, settings } = holesOf(
      this.#widths,
      (cell) => said[cell] === 0 && !isNever(this.#grid.settingOf(cell)),
    );
    if (settings === 0) return;
    const shown = boxes.slice(0, 4).map((box) => `${this.#sayBox(box)}${this.#neighbour(box)}`);
    const more = boxes.length > 4 ? '; and more' : '';
    this.#complaints.warningAtKey(
      'row.hole',
      `No row says what ${output} is at ${shown.join('; ')}${more} (${settings} of ${said.length} settings).`,
      'Add a row or a default; until then the chip keeps there what it has, or holds the output at rest.',
      ['rows'],
    );
  }

  #complainOfSilentRows(): void {
    const speaking = new Set<number>();
    for (const said of this.#saidBy) for (const row of said) speaking.add(row);
    for (const [index, row] of this.rows.entries()) {
      if (speaking.has(index + 1) || this.#contradicting.has(index)) continue;
      const message = `R${rowName(row, index).slice(1)} adds nothing: earlier rows say the same for all its settings.`;
      this.#complaints.warning('row.never', message, 'It can be struck, or its conditions are not what was meant.', [
        'rows',
        index,
      ]);
    }
  }

  #sayBox(box: Box): string {
    const parts = [...this.inputs.keys()].flatMap((name, k) => {
      const [from, to] = box[k]!;
      if (from === 0 && to === 2 ** this.#widths[k]! - 1) return [];
      return from === to ? saySetting([name], [from], this.fields) : `${name} ${from}..${to}`;
    });
    return parts.join(', ') || 'every setting';
  }

  /** The row that comes nearest to a hole: it differs in one field only. */
  #neighbour(box: Box): string {
    const near = this.rows.findIndex(({ matches }) => matches.filter((m, k) => !m.has(box[k]![0])).length === 1);
    return near < 0 ? '' : `, next to ${rowName(this.rows[near]!, near)}`;
  }

  #saySetting(cell: number): string {
    return saySetting(this.inputs.keys(), this.#grid.settingOf(cell), this.fields);
  }

  at(inputs: readonly number[]): OutputValues {
    return this.#grid.at(this.#grid.indexOf(inputs));
  }

  explain(inputs: readonly number[]): string {
    const cell = this.#grid.indexOf(inputs);
    const rows = new Set(this.#saidBy.map((said) => said[cell]! - 1).filter((r) => r >= 0));
    const by = [...rows].map((r) => rowName(this.rows[r]!, r)).join(' and ') || 'no row, the default';
    return `${this.#saySetting(cell)}: ${sayOutputs(this.declared, this.at(inputs))} (by ${by})`;
  }

  explainDifference(inputs: readonly number[], wanted: OutputValues, actual: OutputValues): string {
    return `${this.explain(inputs)}; ${sayDifferences(this.declared, wanted, actual)}`;
  }

  findings(): readonly Finding[] {
    return this.#complaints.findings;
  }

  list(): readonly ListRow[] {
    const rows = this.contents.rows.map(({ when, give, about }): ListRow => {
      const says = Object.entries(when).map(([name, value]) => `${name} ${[value].flat().join(', ')}`);
      return { level: 0, when: says.join('; ') || 'always', does: sayGives(give) + (about ? ` (${about})` : '') };
    });
    const { default: fallback } = this.contents;
    return fallback ? [...rows, { level: 0, when: 'otherwise', does: sayGives(fallback) }] : rows;
  }
}

const sayGives = (gives: Readonly<Record<string, string | number>>): string =>
  Object.entries(gives)
    .map(([name, value]) => `${name} ${value}`)
    .join(', ');
