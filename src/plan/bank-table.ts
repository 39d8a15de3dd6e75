// Several tables in one, chosen by the value of a field.
import type { BankContents } from './bank-contents.js';
import { under } from './complaints.js';
import { sayField } from './setting-words.js';
import type { DisplayFacts, Fields, Finding, ListRow, OutputValues, Table } from './table.js';

interface Bank {
  readonly index: number;
  readonly table: Table;
  /** Where the bank's inputs stand among all inputs, and its outputs among all outputs. */
  readonly inputs: readonly number[];
  readonly outputs: readonly number[];
}

export class BankTable implements Table {
  readonly inputs: ReadonlyMap<string, number>;
  readonly outputs: ReadonlyMap<string, number>;
  readonly activeLow: ReadonlySet<string>;
  readonly #banks: ReadonlyMap<number, Bank>;

  constructor(
    readonly contents: BankContents,
    readonly fields: Fields,
    tables: readonly (Table | null)[],
  ) {
    const there = tables.filter((t) => t !== null);
    this.inputs = new Map([
      [contents.select, fields.get(contents.select)!.bits],
      ...there.flatMap((t) => [...t.inputs]),
    ]);
    this.outputs = new Map(there.flatMap((t) => [...t.outputs]));
    this.activeLow = new Set(there.flatMap((t) => [...t.activeLow]));
    const [inputOrder, outputOrder] = [[...this.inputs.keys()], [...this.outputs.keys()]];
    const banks = tables.flatMap((table, index): [number, Bank][] => {
      if (!table) return [];
      const inputs = [...table.inputs.keys()].map((name) => inputOrder.indexOf(name));
      const outputs = [...table.outputs.keys()].map((name) => outputOrder.indexOf(name));
      return [[contents.banks[index]!.value, { index, table, inputs, outputs }]];
    });
    this.#banks = new Map(banks);
  }

  #at<T>(inputs: readonly number[], say: (bank: Bank, own: readonly number[]) => T): T | null {
    const bank = this.#banks.get(inputs[0]!);
    return bank
      ? say(
          bank,
          bank.inputs.map((k) => inputs[k]!),
        )
      : null;
  }

  at(inputs: readonly number[]): OutputValues {
    const values = new Array<number | undefined>(this.outputs.size).fill(undefined);
    this.#at(inputs, ({ table, outputs }, own) => {
      const given = table.at(own);
      for (const [k, place] of outputs.entries()) values[place] = given[k];
    });
    return values;
  }

  displayAt(inputs: readonly number[]): DisplayFacts | null {
    return this.#at(inputs, ({ table }, own) => table.displayAt?.(own) ?? null);
  }

  neverTogether(one: string, other: string): boolean {
    return [...this.#banks.values()].every(({ table }) => !(table.outputs.has(one) && table.outputs.has(other)));
  }

  negativeWhere(field: string): readonly ReadonlyMap<string, number>[] {
    return [...this.#banks].flatMap(([value, { table }]) =>
      (table.negativeWhere?.(field) ?? []).map((where) => new Map([[this.contents.select, value], ...where])),
    );
  }

  namesIn(field: string): readonly (readonly [number, string])[] {
    return [...this.#banks.values()].flatMap(({ table }) => table.namesIn?.(field) ?? []);
  }

  explain(inputs: readonly number[], outputs?: ReadonlySet<string>): string {
    const select = sayField(this.contents.select, inputs[0]!, this.fields);
    return `${select}: ${this.#at(inputs, ({ table }, own) => table.explain(own, outputs)) ?? 'no bank has this value'}`;
  }

  explainDifference(inputs: readonly number[], wanted: OutputValues, actual: OutputValues): string {
    const select = sayField(this.contents.select, inputs[0]!, this.fields);
    const said = this.#at(inputs, ({ table, outputs }, own) => {
      const pick = (values: OutputValues): OutputValues => outputs.map((place) => values[place]);
      return table.explainDifference?.(own, pick(wanted), pick(actual)) ?? table.explain(own);
    });
    return `${select}: ${said ?? 'no bank has this value'}`;
  }

  findings(): readonly Finding[] {
    return [...this.#banks.values()].flatMap(({ index, table }) =>
      under(['banks', index, 'contents'], table.findings()),
    );
  }

  list(): readonly ListRow[] {
    return [...this.#banks].flatMap(([value, { index, table }]) => {
      const { about } = this.contents.banks[index]!;
      const heading = sayField(this.contents.select, value, this.fields) + (about ? ` (${about})` : '');
      return [{ level: 0, when: heading, does: '' }, ...table.list().map((row) => ({ ...row, level: row.level + 1 }))];
    });
  }
}
