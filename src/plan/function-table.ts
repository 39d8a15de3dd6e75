// Contents `function`, of module plans only: a function of the fields says what the outputs are.
import * as v from 'valibot';
import { printable } from '../ground/byte-text.js';
import { complaints, meantOrKnown } from './complaints.js';
import { outputsSchema, readOutputs, widthsIfGood, widthsOf } from './output-declarations.js';
import { aboutSchema, nameSchema } from './schema-words.js';
import { sayDifferences, sayOutputs, saySetting } from './setting-words.js';
import type { Compiled, ContentsKind, Field, Fields, Finding, ListRow, OutputValues, Table } from './table.js';
import { readValue } from './value-choice.js';
import { settingOf, tooLarge, ValueGrid } from './value-grid.js';
import { boundsOf, neverMet, numberOfBits } from './value-range.js';

/** A number, signed where the output is, or the output's own name for a value; undefined is a don't care. */
type Given = number | string | undefined;

/** Fields by name in, as numbers; outputs by name out, or one value where there is one output. Left out = don't care. */
export type PlanFunction = (setting: Readonly<Record<string, number>>) => Given | Readonly<Record<string, Given>>;

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
  readonly outputs: ReadonlyMap<string, number>;

  constructor(
    readonly contents: Contents,
    readonly inputs: ReadonlyMap<string, number>,
    readonly declared: Fields,
    readonly fields: Fields,
  ) {
    this.outputs = widthsOf(declared);
    this.#grid = new ValueGrid(inputs, this.outputs);
    this.#evaluate();
  }

  /** Calls the function once for every setting that can be, so that its mistakes are known before anything is built. */
  #evaluate(): void {
    const used = [...this.inputs.keys()].map((name) => this.fields.get(name)!);
    const widths = [...this.inputs.values()];
    const readers = [...this.declared.values()].map((output) => ({ output, isPlain: isPlain(output) }));
    const columns = [...this.outputs].map((_, k) => this.#grid.column(k));
    const isNever = neverMet(this.inputs.keys(), this.fields);
    for (let cell = 0; cell < this.#grid.size; cell++) {
      const setting = settingOf(widths, cell);
      if (isNever(setting)) continue;
      const fields: Record<string, number> = {};
      for (let k = 0; k < used.length; k++) fields[used[k]!.name] = numberOfBits(used[k]!, setting[k]!);
      const wrong = this.#call(fields, readers, (k, value) => {
        columns[k]![cell] = value;
      });
      if (wrong !== null) {
        this.#fail(cell, wrong);
        return;
      }
    }
    this.#complainOfSilence();
  }

  /** One call; gives every value that fits to `put`, or says what is wrong with what came back. */
  #call(fields: Record<string, number>, readers: readonly Reader[], put: (k: number, value: number) => void) {
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
      const unknown = Object.keys(named).find((key) => !this.declared.has(key));
      if (unknown !== undefined) return `gives "${printable(unknown)}", which is no output,`;
    } else if (result !== undefined && readers.length > 1) return 'gives one value for several outputs';
    for (const [k, { output, isPlain: plain }] of readers.entries()) {
      const value = named ? named[output.name] : (result as Given);
      if (value === undefined) continue;
      const isNumber = typeof value === 'number' && Number.isInteger(value);
      // Most outputs take every number that fits, and most values are numbers: those need no reading.
      const fits = isNumber && plain && value >= 0 && value < 2 ** output.bits;
      const read = fits ? value : isNumber || typeof value === 'string' ? readValue(value, output) : null;
      if (read === null) return `gives ${output.name} ${printable(String(value).slice(0, 50))}`;
      put(k, read);
    }
    return null;
  }

  #complainOfSilence(): void {
    for (const [k, name] of [...this.outputs.keys()].entries()) {
      if (this.#grid.column(k).some((value) => value >= 0)) continue;
      this.#findings.push({
        severity: 'warning',
        code: 'output.never',
        message: `The function never says what "${name}" is.`,
        why: 'An output that is never given is left at rest everywhere: the function forgets it, or it can go.',
        path: ['at'],
      });
    }
  }

  #fail(cell: number, what: string): void {
    const setting = saySetting(this.inputs.keys(), this.#grid.settingOf(cell), this.fields);
    const ranges = [...this.declared.values()]
      .map((output) => `${output.name} ${boundsOf(output).join(' to ')}`)
      .join(', ');
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
    return `${saySetting(this.inputs.keys(), inputs, this.fields)}: ${sayOutputs(this.declared, this.at(inputs))}`;
  }

  explainDifference(inputs: readonly number[], wanted: OutputValues, actual: OutputValues): string {
    return `${saySetting(this.inputs.keys(), inputs, this.fields)}: ${sayDifferences(this.declared, wanted, actual)}`;
  }

  findings(): readonly Finding[] {
    return this.#findings;
  }

  list(): readonly ListRow[] {
    return Array.from({ length: this.#grid.size }, (_, cell) => ({
      level: 0,
      when: saySetting(this.inputs.keys(), this.#grid.settingOf(cell), this.fields),
      does: sayOutputs(this.declared, this.#grid.at(cell)),
    }));
  }
}

/** How the values of one output are read. */
interface Reader {
  readonly output: Field;
  readonly isPlain: boolean;
}

const isPlain = ({ signed, values }: Field): boolean => !signed && values === null;

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
    const outputs = readOutputs(contents.outputs, fields, complaining);
    tooLarge(inputs, widthsOf(outputs), complaining);
    const { findings } = complaining;
    if (findings.length > 0) return { table: null, findings };
    return { table: new FunctionTable(contents, inputs, outputs, fields), findings };
  },
};
