// Contents `truth-table`: rows that say which outputs a setting of the fields gives, with don't cares and ranges.
import * as v from 'valibot';
import { complaints } from './complaints.js';
import { aboutSchema, outputsSchema, widthsOf } from './schema-words.js';
import type { Compiled, ContentsKind, Fields, Table } from './table.js';
import { givesSchema, readGives, readWhen, type TruthRow, whenSchema } from './truth-row.js';
import { TruthTable } from './truth-table-cells.js';
import { complainOfSize } from './value-grid.js';

const schema = v.strictObject({
  kind: v.literal('truth-table'),
  about: aboutSchema,
  outputs: outputsSchema,
  rows: v.pipe(
    v.array(v.strictObject({ about: aboutSchema, when: whenSchema, give: givesSchema })),
    v.minLength(1, 'at least one row'),
  ),
  default: v.optional(givesSchema),
});

export type TruthTableContents = v.InferOutput<typeof schema>;
/** As it is written in a plan. */
export type TruthTableInput = v.InferInput<typeof schema>;

/** Settings that all rows together may match: more than any chip has, and still looked through in a moment. */
const mostSettings = 2 ** 21;

export const truthTable: ContentsKind<TruthTableContents> = {
  kind: 'truth-table',
  schema,
  compile(contents: TruthTableContents, fields: Fields): Compiled {
    const complaining = complaints();
    const outputs = widthsOf(contents.outputs);
    const named = new Set(contents.rows.flatMap(({ when }) => Object.keys(when)));
    const inputs = new Map([...fields].flatMap(([name, f]) => (named.has(name) ? [[name, f.bits] as const] : [])));
    const rows = contents.rows.map(({ when, give, about = null }, index): TruthRow => {
      const matches = readWhen(when, inputs.keys(), fields, ['rows', index, 'when'], complaining);
      return { matches, gives: readGives(give, outputs, ['rows', index, 'give'], complaining), about };
    });
    const fallback = readGives(contents.default ?? {}, outputs, ['default'], complaining);
    complainOfSize(inputs, outputs, complaining);
    const settings = rows.reduce((sum, { matches }) => sum + matches.reduce((n, m) => n * m.values.length, 1), 0);
    if (settings > mostSettings) {
      const why = `At most ${mostSettings} can be worked with: use a default in place of rows that match everything.`;
      complaining.errorAtKey('contents.too-wide', `The rows match ${settings} settings together.`, why, ['rows']);
    }
    const { findings } = complaining;
    const outline = findings.length > 0;
    return {
      table: outline ? outlineOf(inputs, outputs) : new TruthTable(contents, inputs, outputs, fields, rows, fallback),
      findings,
    };
  },
};

/** With a mistake in a row there is no table to look at, but its outputs are known, so that the pins can still be checked. */
const outlineOf = (inputs: ReadonlyMap<string, number>, outputs: ReadonlyMap<string, number>): Table => ({
  inputs,
  outputs,
  activeLow: new Set(),
  at: () => [...outputs].map(() => undefined),
  explain: () => '',
  findings: () => [],
  list: () => [],
});
