// Contents written as YAML, compiled for a test: the table, and every finding of both passes.
import * as v from 'valibot';
import { parse } from 'yaml';
import { controlByAddress } from '../../../src/plan/control/control-by-address.js';
import { controlByStep } from '../../../src/plan/control/control-by-step.js';
import type { Field, Fields, Finding, Table } from '../../../src/plan/table.js';

/** Fields by width; values can be named: `{ opcode: { bits: 2, names: { 0: 'rest' } } }`. */
export const fieldsOf = (written: Record<string, number | { bits: number; names: Record<number, string> }>): Fields =>
  new Map(
    Object.entries(written).map(([name, w]): [string, Field] => {
      const { bits, names } = typeof w === 'number' ? { bits: w, names: {} } : w;
      return [
        name,
        {
          name,
          bits,
          signed: false,
          values: null,
          scanned: false,
          names: new Map(Object.entries(names).map(([n, s]) => [Number(n), s])),
        },
      ];
    }),
  );

export interface CompiledForTest {
  readonly table: Table;
  readonly findings: readonly Finding[];
}

/** Both kinds of control store, by their `kind`. Fails where the contents do not fit the schema or give no table. */
export function compiled(yaml: string, fields: Fields): CompiledForTest {
  const { table, findings } = compiledMaybe(yaml, fields);
  if (table === null) throw new Error(findings.map((f) => f.message).join('\n'));
  return { table, findings: [...findings, ...table.findings()] };
}

export function compiledMaybe(yaml: string, fields: Fields): { table: Table | null; findings: readonly Finding[] } {
  const written: unknown = parse(yaml);
  const { table, findings } =
    (written as { kind: string }).kind === controlByStep.kind
      ? controlByStep.compile(v.parse(controlByStep.schema, written), fields, null)
      : controlByAddress.compile(v.parse(controlByAddress.schema, written), fields, null);
  // Which name is unknown also stands in the message, which tests compare.
  return { table, findings: findings.map(({ unknown: _, ...said }) => said) };
}

/** The outputs of a table as one number, the first output highest; null where nothing at all is said. */
export function wordAt(table: Table, inputs: readonly number[], outputs: readonly string[]): number | null {
  const names = [...table.outputs.keys()];
  const values = table.at(inputs);
  const chosen = outputs.map((name) => names.indexOf(name));
  if (chosen.every((i) => values[i] === undefined)) return null;
  // Multiplied, not shifted: a word may use all 32 bits.
  return chosen.reduce((word, i) => word * 2 ** table.outputs.get(names[i]!)! + values[i]!, 0);
}

/** Words split over byte-wide ROMs, right-aligned, low byte first; words of which nothing is said hold `fill` in every ROM. */
export function romsOf(words: readonly (number | null)[], roms: number, fill: number): Uint8Array[] {
  return Array.from({ length: roms }, (_, rom) =>
    Uint8Array.from(words, (word) => (word === null ? fill : Math.floor(word / 256 ** rom) % 256)),
  );
}
