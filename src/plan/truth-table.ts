// Contents `truth-table`: rows that say which outputs a setting of the fields gives, with don't cares and ranges.
import * as v from 'valibot';
import { type Complaints, complaints } from './complaints.js';
import { outlineOf } from './outline.js';
import { outputsSchema, readOutputs, widthsIfGood, widthsOf } from './output-declarations.js';
import { aboutSchema } from './schema-words.js';
import type { Compiled, ContentsKind, Fields } from './table.js';
import { givesSchema, readGives, readWhen, type TruthRow, whenSchema } from './truth-row.js';
import { TruthTable } from './truth-table-cells.js';
import { tooLarge } from './value-grid.js';

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
  forgiving: { leaveOut: ['about', 'default'], standIns: { rows: { when: {}, give: {} } } },
  outputsOf: ({ outputs }) => widthsIfGood(outputs),
  compile(contents: TruthTableContents, fields: Fields): Compiled {
    const complaining = complaints();
    const declared = readOutputs(contents.outputs, fields, complaining);
    const outputs = widthsOf(declared);
    const named = new Set(contents.rows.flatMap(({ when }) => Object.keys(when)));
    const inputs = new Map([...fields].flatMap(([name, f]) => (named.has(name) ? [[name, f.bits] as const] : [])));
    if (tooLarge(inputs, outputs, complaining))
      return { table: outlineOf({ inputs, outputs }), findings: complaining.findings };
    const rows = readRows(contents, inputs, declared, fields, complaining);
    const fallback = readGives(contents.default ?? {}, declared, ['default'], complaining);
    const { findings } = complaining;
    const outline = findings.length > 0;
    return {
      table: outline
        ? outlineOf({ inputs, outputs })
        : new TruthTable(contents, inputs, declared, fields, rows, fallback),
      findings,
    };
  },
};

/** Reads row after row, and stops where they match more together than can be worked with: more would only cost memory. */
function readRows(
  contents: TruthTableContents,
  inputs: ReadonlyMap<string, number>,
  outputs: Fields,
  fields: Fields,
  complaining: Complaints,
): readonly TruthRow[] {
  const rows: TruthRow[] = [];
  let settings = 0;
  for (const [index, { when, give, about = null }] of contents.rows.entries()) {
    const matches = readWhen(when, inputs.keys(), fields, ['rows', index, 'when'], complaining);
    rows.push({ matches, gives: readGives(give, outputs, ['rows', index, 'give'], complaining), about });
    settings += matches.reduce((n, m) => n * m.values.length, 1);
    if (settings <= mostSettings) continue;
    const why = `At most ${mostSettings} can be worked with: use a default in place of rows that match everything.`;
    complaining.errorAtKey('contents.too-wide', `The rows match more than ${mostSettings} settings together.`, why, [
      'rows',
    ]);
    break;
  }
  return rows;
}
