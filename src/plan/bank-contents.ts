// Contents `banks`: several contents in one chip, chosen by the value of a field.
import * as v from 'valibot';
import { BankTable } from './bank-table.js';
import { type Complaints, complaints, meantOrKnown, under } from './complaints.js';
import { aboutSchema, nameSchema, wholeNumber } from './schema-words.js';
import type { Compiled, ContentsKind, Field, Fields, ReadFile, Table } from './table.js';
import { readValue } from './value-choice.js';
import { bitsOf, mostValues } from './value-grid.js';
import { sayTaken } from './value-range.js';

const schema = v.strictObject({
  kind: v.literal('banks'),
  about: aboutSchema,
  select: nameSchema,
  banks: v.pipe(
    v.array(
      v.strictObject({
        value: v.union(
          [wholeNumber(-(2 ** 23), 2 ** 24 - 1), nameSchema],
          'a value of the field, as a number or by its name',
        ),
        about: aboutSchema,
        contents: v.unknown(),
      }),
    ),
    v.minLength(1, 'at least one bank'),
  ),
});

type WrittenBanks = v.InferOutput<typeof schema>;
/** With the value of every bank as a number; -1 where it is none that the field has. */
export type BankContents = Omit<WrittenBanks, 'banks'> & {
  readonly banks: readonly (Omit<WrittenBanks['banks'][number], 'value'> & { readonly value: number })[];
};
/** As it is written in a plan. */
export type BanksInput = v.InferInput<typeof schema>;

/** Gives every bank its value as a number, and complains of those that the field does not have. */
function withValues(written: WrittenBanks, field: Field, { error }: Complaints): BankContents {
  const banks = written.banks.map((bank, i) => {
    const value = readValue(bank.value, field);
    if (value === null)
      error('field.value', `${bank.value} is no value of ${field.name}.`, `${sayTaken(field)}.`, ['banks', i, 'value']);
    return { ...bank, value: value ?? -1 };
  });
  return { ...written, banks };
}

/** What is wrong between banks: values twice, one output with two widths or polarities. */
function complainOfBanks(
  contents: BankContents,
  fields: Fields,
  tables: readonly (Table | null)[],
  { error }: Complaints,
): void {
  const { name } = fields.get(contents.select)!;
  const seen = new Map<number, number>();
  for (const [i, { value }] of contents.banks.entries()) {
    const path = ['banks', i, 'value'];
    const before = seen.get(value);
    if (before !== undefined && value >= 0) {
      error(
        'bank.twice',
        `Two banks have the value ${value}: ${before + 1} and ${i + 1}.`,
        'Each value chooses one bank.',
        path,
      );
    }
    seen.set(value, i);
  }
  const outputs = new Map<string, { width: number; low: boolean; bank: number }>();
  for (const [i, table] of tables.entries()) {
    if (table?.inputs.has(name)) {
      error(
        'bank.select',
        `Bank ${i + 1} reads the field "${name}" that chooses the bank.`,
        'Inside a bank it has one value only.',
        ['banks', i],
      );
    }
    for (const [output, width] of table?.outputs ?? []) {
      const low = table!.activeLow.has(output);
      const before = outputs.get(output);
      if (before && (before.width !== width || before.low !== low)) {
        const message = `The output "${output}" is not the same in banks ${before.bank + 1} and ${i + 1}.`;
        error(
          'bank.output',
          message,
          'An output has one width and one polarity in all banks; give one of them another name.',
          ['banks', i],
        );
      }
      outputs.set(output, { width, low, bank: i });
    }
  }
}

/** Compiles bank after bank, and stops where they become larger together than any set of chips: more would only cost memory. */
function compileBanks(contents: BankContents, compile: (contents: unknown) => Compiled): readonly Compiled[] {
  const compiled: Compiled[] = [];
  let values = 0;
  for (const bank of contents.banks) {
    const each = compile(bank.contents);
    values += each.table ? 2 ** bitsOf(each.table.inputs) * each.table.outputs.size : 0;
    compiled.push(each);
    if (values <= mostValues) continue;
    const complaining = complaints([...each.findings]);
    complaining.error(
      'contents.too-wide',
      'The banks are too large together.',
      `At most ${mostValues} output values can be worked with.`,
      [],
    );
    compiled[compiled.length - 1] = { table: null, findings: complaining.findings };
    break;
  }
  return compiled;
}

/** `compileContents` is handed in, because contents know of banks and banks of contents. */
export const bankContents = (
  compileContents: (contents: unknown, fields: Fields, readFile: ReadFile | null) => Compiled,
): ContentsKind<WrittenBanks> => ({
  kind: 'banks',
  schema,
  forgiving: { leaveOut: ['about'], standIns: {} },
  outputsOf: () => null,
  compile(written: WrittenBanks, fields: Fields, readFile: ReadFile | null): Compiled {
    const complaining = complaints();
    const select = fields.get(written.select);
    if (!select) {
      const why = meantOrKnown(written.select, fields.keys());
      complaining.error('field.unknown', `There is no field "${written.select}".`, why, ['select']);
      return { table: null, findings: complaining.findings };
    }
    const contents = withValues(written, select, complaining);
    const compiled = compileBanks(contents, (bank) => compileContents(bank, fields, readFile));
    const tables = compiled.map((c) => c.table);
    for (const [i, { findings }] of compiled.entries()) complaining.add(under(['banks', i, 'contents'], findings));
    complainOfBanks(contents, fields, tables, complaining);
    const table = new BankTable(contents, fields, tables);
    if (tables.every((t) => t !== null)) return { table, findings: complaining.findings };
    // With a bank missing the outputs are not all known, but the other banks are looked through all the same.
    complaining.add(table.findings());
    return { table: null, findings: complaining.findings };
  },
});
