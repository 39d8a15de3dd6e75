// Several tables side by side in one: all of them speak at every setting, each for outputs of its own.
import { complaints, under } from './complaints.js';
import { outlineOf } from './outline.js';
import type { Compiled, DisplayFacts, Finding, ListRow, OutputValues, Table } from './table.js';
import { tooWide } from './value-grid.js';

/** One of the contents, with the places of its inputs and outputs among all. */
interface Part {
  readonly table: Table;
  /** What a list calls it. */
  readonly heading: string;
  readonly inputs: readonly number[];
  readonly outputs: readonly number[];
}

class JoinedTable implements Table {
  readonly inputs: ReadonlyMap<string, number>;
  readonly outputs: ReadonlyMap<string, number>;
  readonly activeLow: ReadonlySet<string>;
  readonly #parts: readonly Part[];

  constructor(tables: readonly Table[], headings: readonly string[]) {
    this.inputs = new Map(tables.flatMap((t) => [...t.inputs]));
    this.outputs = new Map(tables.flatMap((t) => [...t.outputs]));
    this.activeLow = new Set(tables.flatMap((t) => [...t.activeLow]));
    const [inputOrder, outputOrder] = [[...this.inputs.keys()], [...this.outputs.keys()]];
    this.#parts = tables.map((table, i) => ({
      table,
      heading: headings[i]!,
      inputs: [...table.inputs.keys()].map((name) => inputOrder.indexOf(name)),
      outputs: [...table.outputs.keys()].map((name) => outputOrder.indexOf(name)),
    }));
  }

  at(inputs: readonly number[]): OutputValues {
    const values = new Array<number | undefined>(this.outputs.size).fill(undefined);
    for (const part of this.#parts) {
      const given = part.table.at(own(part, inputs));
      for (const [k, place] of part.outputs.entries()) values[place] = given[k];
    }
    return values;
  }

  displayAt(inputs: readonly number[]): DisplayFacts | null {
    for (const part of this.#parts) {
      const display = part.table.displayAt?.(own(part, inputs)) ?? null;
      if (display !== null) return display;
    }
    return null;
  }

  neverTogether(one: string, other: string): boolean {
    const holder = this.#parts.find(({ table }) => table.outputs.has(one) && table.outputs.has(other));
    return holder?.table.neverTogether?.(one, other) ?? false;
  }

  negativeWhere(field: string): readonly ReadonlyMap<string, number>[] {
    return this.#parts.flatMap(({ table }) => table.negativeWhere?.(field) ?? []);
  }

  namesIn(field: string): readonly (readonly [number, string])[] {
    return this.#parts.flatMap(({ table }) => table.namesIn?.(field) ?? []);
  }

  explain(inputs: readonly number[], outputs?: ReadonlySet<string>): string {
    const speaking = this.#parts.filter(
      ({ table }) => outputs === undefined || [...table.outputs.keys()].some((name) => outputs.has(name)),
    );
    return speaking.map((part) => part.table.explain(own(part, inputs), outputs)).join('; ');
  }

  explainDifference(inputs: readonly number[], wanted: OutputValues, actual: OutputValues): string {
    const differing = this.#parts.filter(({ outputs }) => outputs.some((place) => wanted[place] !== actual[place]));
    return differing
      .map((part) => {
        const pick = (values: OutputValues): OutputValues => part.outputs.map((place) => values[place]);
        const [table, here] = [part.table, own(part, inputs)];
        return table.explainDifference?.(here, pick(wanted), pick(actual)) ?? table.explain(here);
      })
      .join('\n');
  }

  findings(): readonly Finding[] {
    return this.#parts.flatMap(({ table }, i) => under([i], table.findings()));
  }

  list(): readonly ListRow[] {
    return this.#parts.flatMap(({ table, heading }) => [
      { level: 0, when: heading, does: '' },
      ...table.list().map((row) => ({ ...row, level: row.level + 1 })),
    ]);
  }
}

const own = ({ inputs: places }: Part, inputs: readonly number[]): number[] => places.map((k) => inputs[k]!);

/** As many as one word of eight chips could have outputs. */
const mostParts = 64;

/** Joins contents that a plan writes as a list; `compile` compiles each of them. */
export function compileJoined(written: readonly unknown[], compile: (contents: unknown) => Compiled): Compiled {
  const complaining = complaints();
  if (written.length === 0 || written.length > mostParts) {
    const why = `A list of contents has 1 to ${mostParts} of them.`;
    complaining.error('contents.kind', `This list has ${written.length}.`, why, []);
    return { table: null, findings: complaining.findings };
  }
  const compiled = written.map(compile);
  for (const [i, { findings }] of compiled.entries()) complaining.add(under([i], findings));
  const seen = new Map<string, number>();
  for (const [i, { table }] of compiled.entries()) {
    for (const output of table?.outputs.keys() ?? []) {
      const before = seen.get(output);
      if (before !== undefined) {
        const message = `The output "${output}" is told twice, by contents ${before + 1} and ${i + 1} of this list.`;
        complaining.error('contents.output', message, 'Each output has one say; give one of them another name.', [i]);
      }
      seen.set(output, i);
    }
  }
  const tables = compiled.map((c) => c.table);
  const there = tables.filter((table) => table !== null);
  const joined = new JoinedTable(there, written.map(headingOf));
  const isWide = tooWide(joined.inputs.values(), complaining);
  const isWhole = there.length === tables.length && there.every((table) => !table.outline);
  if (isWhole && !isWide) return { table: joined, findings: complaining.findings };
  // With a mistake in one of them the others are looked through all the same.
  for (const [i, table] of tables.entries()) if (table) complaining.add(under([i], table.findings()));
  const outline = there.length === tables.length && !isWide ? outlineOf(joined) : null;
  return { table: outline, findings: complaining.findings };
}

const headingOf = (written: unknown): string => {
  const { about, kind } = (typeof written === 'object' && written !== null ? written : {}) as Record<string, unknown>;
  return String(about ?? kind ?? '');
};
