// Control lines with their meaning, and the words (sets of lines) that the steps of a control store are made of.
import { type Action, type BusFault, busFaults } from './bus-traffic.js';
import { bitsOf, type FlagSpace } from './flag-settings.js';
import { listOf } from './one-or-more.js';
import type { LineSpec } from './step-schema.js';

/** What a line does to the step counter: back to step 0, stay in this step, or stop the whole machine. */
export type StepEffect = 'restart' | 'hold' | 'stop';

export interface Line extends Action {
  readonly counts: string | null;
  readonly steps: StepEffect | null;
  /** The flags that may change when this line is asserted, as bits of a setting. */
  readonly changes: number;
  readonly activeLow: boolean;
}

/** Some lines asserted together. Equal words are one object, so that they can be compared by identity. */
export interface Word {
  readonly id: number;
  /** Indexes of the asserted lines, ascending. */
  readonly lines: readonly number[];
  /** One value a line; undefined in a word of which nothing is said. */
  readonly values: readonly (number | undefined)[];
  /** The strongest effect of its lines: stop before restart before hold. */
  readonly steps: StepEffect | null;
  readonly changes: number;
  readonly faults: readonly BusFault[];
  /** Counters that several lines of this word count at once. */
  readonly countedTwice: readonly string[];
}

/** The line that a plan describes. Flags unknown to `space` are left out; the compiler reports them. */
export const lineOf = (name: string, spec: LineSpec, space: FlagSpace): Line => ({
  name,
  drives: listOf(spec?.drives),
  loads: listOf(spec?.loads),
  counts: spec?.counts ?? null,
  steps: spec?.steps ?? null,
  changes: space.flags.filter((f) => listOf(spec?.changes).includes(f.name)).reduce((bits, f) => bits | bitsOf(f), 0),
  activeLow: spec?.active === 'low',
});

export interface WordPool {
  /** The word with these lines (indexes, any order, repeats allowed). */
  word(lines: readonly number[]): Word;
  /** The word of which nothing is said: every output is don't care. */
  readonly unsaid: Word;
}

export function wordPool(lines: readonly Line[]): WordPool {
  const known = new Map<string, Word>();
  const unsaid: Word = {
    ...makeWord(0, [], lines),
    values: lines.map(() => undefined),
  };
  return {
    unsaid,
    word: (asked) => {
      const sorted = [...new Set(asked)].sort((a, b) => a - b);
      const key = sorted.join();
      const word = known.get(key) ?? makeWord(known.size + 1, sorted, lines);
      known.set(key, word);
      return word;
    },
  };
}

function makeWord(id: number, asserted: readonly number[], lines: readonly Line[]): Word {
  const on = asserted.map((index) => lines[index]!);
  const effects = on.map((line) => line.steps);
  const counted = on.flatMap((line) => line.counts ?? []);
  return {
    id,
    lines: asserted,
    values: lines.map((_, index) => (asserted.includes(index) ? 1 : 0)),
    steps: (['stop', 'restart', 'hold'] as const).find((effect) => effects.includes(effect)) ?? null,
    changes: on.reduce((bits, line) => bits | line.changes, 0),
    faults: busFaults(on),
    countedTwice: [...new Set(counted.filter((c, i) => counted.indexOf(c) !== i))],
  };
}
