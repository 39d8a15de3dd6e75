// Contents `banks`: several contents in one chip, chosen by the value of a field.
import * as v from 'valibot';
import { under } from './schema-mistake.js';
import { aboutSchema, nameSchema, wholeNumber } from './schema-words.js';
import { sayField } from './setting-words.js';
import type { Compiled, ContentsKind, DisplayFacts, Fields, Finding, ListRow, OutputValues, Table } from './table.js';

const schema = v.strictObject({
  kind: v.literal('banks'),
  about: aboutSchema,
  select: nameSchema,
  banks: v.pipe(
    v.array(v.strictObject({ value: wholeNumber(0, 2 ** 24 - 1), about: aboutSchema, contents: v.unknown() })),
    v.minLength(1, 'at least one bank'),
  ),
});

type Contents = v.InferOutput<typeof schema>;
/** As it is written in a plan. */
export type BanksInput = v.InferInput<typeof schema>;

interface Bank {
  readonly index: number;
  readonly table: Table;
  /** Where the bank's inputs stand among all inputs, and its outputs among all outputs. */
  readonly inputs: readonly number[];
  readonly outputs: readonly number[];
}

class BankTable implements Table {
  readonly inputs: ReadonlyMap<string, number>;
  readonly outputs: ReadonlyMap<string, number>;
  readonly activeLow: ReadonlySet<string>;
  readonly #banks: ReadonlyMap<number, Bank>;

  constructor(
    readonly contents: Contents,
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

  explain(inputs: readonly number[]): string {
    const select = sayField(this.contents.select, inputs[0]!, this.fields);
    return `${select}: ${this.#at(inputs, ({ table }, own) => table.explain(own)) ?? 'no bank has this value'}`;
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

/** What is wrong between banks: values twice or too large, one output with two widths or polarities. */
function* bankFindings(contents: Contents, fields: Fields, tables: readonly (Table | null)[]): Generator<Finding> {
  const error = (code: string, message: string, why: string, path: Finding['path']): Finding => ({
    severity: 'error',
    code,
    message,
    why,
    path,
  });
  const field = fields.get(contents.select)!;
  const seen = new Map<number, number>();
  for (const [i, { value }] of contents.banks.entries()) {
    if (value >= 2 ** field.bits) {
      yield error(
        'field.value',
        `${value} is no value of ${field.name}.`,
        `It is ${field.bits} bits wide: 0 to ${2 ** field.bits - 1}.`,
        ['banks', i, 'value'],
      );
    }
    if (seen.has(value))
      yield error(
        'bank.twice',
        `Two banks have the value ${value}: ${seen.get(value)! + 1} and ${i + 1}.`,
        'Each value chooses one bank.',
        ['banks', i, 'value'],
      );
    seen.set(value, i);
  }
  const outputs = new Map<string, { bits: number; low: boolean; bank: number }>();
  for (const [i, table] of tables.entries()) {
    if (table?.inputs.has(contents.select))
      yield error(
        'bank.select',
        `Bank ${i + 1} reads the field "${contents.select}" that chooses the bank.`,
        'Inside a bank it has one value only.',
        ['banks', i],
      );
    for (const [name, bits] of table?.outputs ?? []) {
      const low = table!.activeLow.has(name);
      const before = outputs.get(name);
      if (before && (before.bits !== bits || before.low !== low)) {
        yield error(
          'bank.output',
          `The output "${name}" is not the same in banks ${before.bank + 1} and ${i + 1}.`,
          'An output has one width and one polarity in all banks; give one of them another name.',
          ['banks', i],
        );
      }
      outputs.set(name, { bits, low, bank: i });
    }
  }
}

/** `compileContents` is handed in, because contents know of banks and banks of contents. */
export const bankContents = (
  compileContents: (contents: unknown, fields: Fields) => Compiled,
): ContentsKind<Contents> => ({
  kind: 'banks',
  schema,
  compile(contents: Contents, fields: Fields): Compiled {
    if (!fields.has(contents.select)) {
      const why = `Known are: ${[...fields.keys()].join(', ') || 'none'}.`;
      const message = `There is no field "${contents.select}".`;
      return { table: null, findings: [{ severity: 'error', code: 'field.unknown', message, why, path: ['select'] }] };
    }
    const compiled = contents.banks.map((bank) => compileContents(bank.contents, fields));
    const tables = compiled.map((c) => c.table);
    const findings = [
      ...compiled.flatMap((c, i) => under(['banks', i, 'contents'], c.findings)),
      ...bankFindings(contents, fields, tables),
    ];
    return { table: tables.some((t) => t !== null) ? new BankTable(contents, fields, tables) : null, findings };
  },
});
