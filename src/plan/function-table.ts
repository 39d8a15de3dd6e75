// Contents `function`, of module plans only: a function of the fields says what the outputs are.
import * as v from 'valibot';
import { printable } from '../ground/byte-text.js';
import { complaints, meantOrKnown } from './complaints.js';
import { aboutSchema, nameSchema, outputsSchema, widthsIfGood, widthsOf } from './schema-words.js';
import { sayDifferences, sayOutputs, saySetting } from './setting-words.js';
import type { Compiled, ContentsKind, Fields, Finding, ListRow, OutputValues, Table } from './table.js';
import { settingOf, tooLarge, ValueGrid } from './value-grid.js';

/** Fields by name in; outputs by name out, or one number where there is one output. Left out or undefined = don't care. */
export type PlanFunction = (
  setting: Readonly<Record<string, number>>,
) => number | undefined | Readonly<Record<string, number | undefined>>;

const schema = v.strictObject({
  kind: v.literal('function'),
  about: aboutSchema,
  outputs: outputsSchema,
  /** Fields that the function reads; all where not given. */
  reads: v.optional(v.array(nameSchema)),
  at: v.custom<PlanFunction>((value) => typeof value === 'function', 'a function, in a plan that is a module'),
});

type Contents = v.InferOutput<typeof schema>;
/** As it is written in a plan. */
export type FunctionInput = v.InferInput<typeof schema>;

class FunctionTable implements Table {
  readonly activeLow = new Set<string>();
  readonly #grid: ValueGrid;
  readonly #findings: Finding[] = [];

  constructor(
    readonly contents: Contents,
    readonly inputs: ReadonlyMap<string, number>,
    readonly outputs: ReadonlyMap<string, number>,
    readonly fields: Fields,
  ) {
    this.#grid = new ValueGrid(inputs, outputs);
    this.#evaluate();
  }

  /** Calls the function once for every setting, so that its mistakes are known before anything is built. */
  #evaluate(): void {
    const names = [...this.inputs.keys()];
    const widths = [...this.inputs.values()];
    const mosts = new Map([...this.outputs].map(([name, bits]) => [name, 2 ** bits - 1]));
    const columns = [...this.outputs].map((_, k) => this.#grid.column(k));
    for (let cell = 0; cell < this.#grid.size; cell++) {
      const setting = settingOf(widths, cell);
      const fields: Record<string, number> = {};
      for (let k = 0; k < names.length; k++) fields[names[k]!] = setting[k]!;
      const wrong = this.#call(fields, mosts, (k, value) => {
        columns[k]![cell] = value;
      });
      if (wrong !== null) {
        this.#fail(cell, wrong);
        return;
      }
    }
  }

  /** One call; gives every value that fits to `put`, or says what is wrong with what came back. */
  #call(fields: Record<string, number>, mosts: ReadonlyMap<string, number>, put: (k: number, value: number) => void) {
    let result: ReturnType<PlanFunction>;
    try {
      result = this.contents.at(fields);
    } catch (error) {
      const said = error instanceof Error ? error.message : String(error);
      return `throws "${printable(said.slice(0, 200))}"`;
    }
    const named = typeof result === 'object' && result !== null ? result : null;
    if (named) {
      if (named instanceof Promise) return 'gives a promise';
      const unknown = Object.keys(named).find((key) => !mosts.has(key));
      if (unknown !== undefined) return `gives "${printable(unknown)}", which is no output,`;
    } else if (result !== undefined && mosts.size > 1) return 'gives one value for several outputs';
    let k = 0;
    for (const [name, most] of mosts) {
      const value = named ? named[name] : (result as number | undefined);
      if (value !== undefined) {
        if (!Number.isInteger(value) || value < 0 || value > most)
          return `gives ${name} ${printable(String(value).slice(0, 50))}`;
        put(k, value);
      }
      k++;
    }
    return null;
  }

  #fail(cell: number, what: string): void {
    const setting = saySetting(this.inputs.keys(), this.#grid.settingOf(cell), this.fields);
    const ranges = [...this.outputs].map(([name, bits]) => `${name} 0 to ${2 ** bits - 1}`).join(', ');
    this.#findings.push({
      severity: 'error',
      code: 'function.value',
      message: `The function ${what} at ${setting}.`,
      why: `It gives whole numbers, or undefined for don't care: ${ranges}.`,
      path: ['at'],
    });
  }

  at(inputs: readonly number[]): OutputValues {
    return this.#grid.at(this.#grid.indexOf(inputs));
  }

  explain(inputs: readonly number[]): string {
    return `${saySetting(this.inputs.keys(), inputs, this.fields)}: ${sayOutputs(this.outputs, this.at(inputs))}`;
  }

  explainDifference(inputs: readonly number[], wanted: OutputValues, actual: OutputValues): string {
    return `${saySetting(this.inputs.keys(), inputs, this.fields)}: ${sayDifferences(this.outputs, wanted, actual)}`;
  }

  findings(): readonly Finding[] {
    return this.#findings;
  }

  list(): readonly ListRow[] {
    return Array.from({ length: this.#grid.size }, (_, cell) => ({
      level: 0,
      when: saySetting(this.inputs.keys(), this.#grid.settingOf(cell), this.fields),
      does: sayOutputs(this.outputs, this.#grid.at(cell)),
    }));
  }
}

export const functionContents: ContentsKind<Contents> = {
  kind: 'function',
  schema,
  forgiving: { leaveOut: ['about'], standIns: {} },
  outputsOf: ({ outputs }) => widthsIfGood(outputs),
  compile(contents: Contents, fields: Fields): Compiled {
    const complaining = complaints();
    const reads = contents.reads ?? [...fields.keys()];
    for (const [i, name] of reads.entries()) {
      if (fields.has(name)) continue;
      complaining.error('field.unknown', `There is no field "${name}".`, meantOrKnown(name, fields.keys()), [
        'reads',
        i,
      ]);
    }
    const inputs = new Map(
      reads.flatMap((name) => (fields.has(name) ? [[name, fields.get(name)!.bits] as const] : [])),
    );
    const outputs = widthsOf(contents.outputs);
    tooLarge(inputs, outputs, complaining);
    const { findings } = complaining;
    if (findings.length > 0) return { table: null, findings };
    return { table: new FunctionTable(contents, inputs, outputs, fields), findings };
  },
};
