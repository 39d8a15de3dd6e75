// Control lines with their meaning, and the words (one value a line) that the steps of a control store are made of.

import type { Complaints } from '../complaints.js';
import type { Path } from '../table.js';
import { type Action, type BusFault, busFaults } from './bus-traffic.js';
import { actionAt, type Code, type CodedOutput, codeValue, readCodes } from './coded-output.js';
import { bitsOf, type FlagSpace } from './flag-settings.js';
import { listOf } from './one-or-more.js';
import type { LineMeaning, LineSpec } from './step-schema.js';

/** What a line does to the step counter: back to step 0, stay in this step, or stop the whole machine. */
export type StepEffect = 'restart' | 'hold' | 'stop';

/** What a line does while it is asserted, or an encoded one at one of its codes. */
export interface LineAction extends Action {
  readonly counts: string | null;
  readonly steps: StepEffect | null;
  /** The flags that may change then, as bits of a setting. */
  readonly changes: number;
}

export interface Line extends CodedOutput<LineAction> {
  /** The value in a step that does not name the line. */
  readonly rest: number;
}

/** One line of a step with the value that the step gives it. */
export interface LineSetting {
  /** Index of the line. */
  readonly line: number;
  readonly value: number;
}

/** One value for every line. Equal words are one object, so that they can be compared by identity. */
export interface Word {
  readonly id: number;
  /** Indexes of the lines that are not at rest, ascending. */
  readonly lines: readonly number[];
  /** One value a line; undefined in a word of which nothing is said. */
  readonly values: readonly (number | undefined)[];
  readonly actions: readonly LineAction[];
  /** The strongest effect of its lines: stop before restart before hold. */
  readonly steps: StepEffect | null;
  readonly changes: number;
  readonly faults: readonly BusFault[];
  /** Counters that several lines of this word count at once. */
  readonly countedTwice: readonly string[];
}

const actionOf = (name: string, meaning: LineMeaning | null, space: FlagSpace): LineAction => ({
  name,
  drives: listOf(meaning?.drives),
  loads: listOf(meaning?.loads),
  counts: meaning?.counts ?? null,
  steps: meaning?.steps ?? null,
  changes: space.flags
    .filter((f) => listOf(meaning?.changes).includes(f.name))
    .reduce((bits, f) => bits | bitsOf(f), 0),
});

/** The line that a plan describes under `path`. Flags unknown to `space` are left out; the compiler reports them. */
export function lineOf(name: string, spec: LineSpec, space: FlagSpace, path: Path, complaints: Complaints): Line {
  const bits = spec?.bits ?? 1;
  const make = (code: string, value: number, long: LineMeaning | null): LineAction & Code => ({
    ...actionOf(code, long, space),
    value,
  });
  const codes = readCodes(name, bits, spec?.codes ?? {}, make, path, complaints);
  const output = {
    ...{ name, bits, codes },
    byValue: new Map([...codes.values()].map((code) => [code.value, code])),
    asserted: actionOf(name, spec, space),
    activeLow: spec?.active === 'low',
  };
  complainOfMeanings(output, spec, path, complaints);
  return { ...output, rest: restOf(output, spec, path, complaints) };
}

/** Of several bits together only the codes can say what they do. */
function complainOfMeanings(
  { name, bits, codes }: CodedOutput<LineAction>,
  spec: LineSpec,
  path: Path,
  { errorAtKey }: Complaints,
): void {
  if (bits === 1 && codes.size === 0) return;
  for (const key of ['drives', 'loads', 'counts', 'steps', 'changes'] as const) {
    if (spec?.[key] === undefined) continue;
    const message = `"${name}" is an encoded line, and "${key}" does not say at which of its values.`;
    errorAtKey('line.mixed', message, `Move "${key}" into the code for which it holds.`, [...path, key]);
  }
}

function restOf(
  output: CodedOutput<LineAction>,
  spec: LineSpec,
  path: Path,
  { error, errorAtKey }: Complaints,
): number {
  if (spec?.default !== undefined) {
    const value = codeValue(output, String(spec.default));
    if (typeof value === 'number') return value;
    error(value.code, `The default of "${output.name}": ${value.message}`, value.why, [...path, 'default']);
  } else if (output.codes.size > 0 && !output.byValue.has(0)) {
    const message = `Nothing says what "${output.name}" is in a step that does not name it.`;
    errorAtKey('code.rest', message, 'Give it a code 0, as in nothing: 0, or a "default".', path);
  }
  return 0;
}

export interface WordPool {
  /** The word in which these lines have these values and all others are at rest. */
  word(settings: readonly LineSetting[]): Word;
  /** The word of which nothing is said: every output is don't care. */
  readonly unsaid: Word;
}

export function wordPool(lines: readonly Line[]): WordPool {
  const known = new Map<string, Word>();
  const resting = lines.map(({ rest }) => rest);
  const unsaid: Word = {
    ...makeWord(0, [], []),
    values: lines.map(() => undefined),
  };
  return {
    unsaid,
    word: (settings) => {
      const values = [...resting];
      for (const { line, value } of settings) values[line] = value;
      const key = values.join();
      const word = known.get(key) ?? makeWord(known.size + 1, values, lines);
      known.set(key, word);
      return word;
    },
  };
}

/** What the lines do together at these values. */
export const actionsAt = (lines: readonly Line[], values: readonly number[]): readonly LineAction[] =>
  lines.flatMap((line, i) => actionAt(line, values[i]!) ?? []);

function makeWord(id: number, values: readonly number[], lines: readonly Line[]): Word {
  const actions = actionsAt(lines, values);
  const effects = actions.map((action) => action.steps);
  const counted = actions.flatMap((action) => action.counts ?? []);
  return {
    id,
    values,
    actions,
    lines: lines.flatMap((line, index) => (values[index] === line.rest ? [] : [index])),
    steps: (['stop', 'restart', 'hold'] as const).find((effect) => effects.includes(effect)) ?? null,
    changes: actions.reduce((bits, action) => bits | action.changes, 0),
    faults: busFaults(actions),
    countedTwice: [...new Set(counted.filter((c, i) => counted.indexOf(c) !== i))],
  };
}
