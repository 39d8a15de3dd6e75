// Which settings of the flags can reach each step of an instruction, and where it never gets on.
import { freed, type Settings } from './flag-settings.js';
import type { StepProgram } from './step-program.js';
import type { Step } from './step-words.js';

export interface Walk {
  /** For each step, the settings with which it can be met. */
  readonly reached: readonly Settings[];
  /** For each step, the settings in which it holds itself for ever: no flag can change that would end the wait. */
  readonly stuck: readonly Settings[];
  /** Settings with which the last step is left without an end of the instruction. */
  readonly left: Settings;
}

/**
 * Follows an instruction from its first step with every possible setting of the flags. From one step to the next the
 * restless flags may change, and those that an asserted line changes; all others keep their values.
 */
export function walk(program: StepProgram, steps: readonly Step[]): Walk {
  const reached: Settings[] = [];
  const stuck: Settings[] = [];
  let arriving: Settings = program.possible;
  for (const step of steps) {
    const here = withHolds(program, step, arriving);
    reached.push(here);
    stuck.push(neverLeaving(program, step, here));
    arriving = follow(program, step, here, null);
  }
  return { reached, stuck, left: arriving };
}

/** The settings after one clock, from those of `from` whose word has this effect on the step counter. */
function follow(program: StepProgram, step: Step, from: Settings, effect: 'hold' | null): Settings {
  const after = new Uint8Array(from.length);
  for (const [free, group] of byFreeFlags(program, step, from, effect)) {
    const next = freed(group, free, program.possible);
    for (const s of after.keys()) after[s]! |= next[s]!;
  }
  return after;
}

/** The settings of `from` whose word has this effect, grouped by the flags that may change in the clock after them. */
function byFreeFlags(
  program: StepProgram,
  step: Step,
  from: Settings,
  effect: 'hold' | null,
): ReadonlyMap<number, Settings> {
  const groups = new Map<number, Settings>();
  for (const [s, word] of step.words.entries()) {
    if (from[s] !== 1 || word.steps !== effect) continue;
    const free = program.restless | word.changes;
    const group = groups.get(free) ?? new Uint8Array(from.length);
    group[s] = 1;
    groups.set(free, group);
  }
  return groups;
}

/** While a step holds itself, flags may change, so that it is met again with other settings. */
function withHolds(program: StepProgram, step: Step, arriving: Settings): Settings {
  let here = arriving;
  for (;;) {
    const again = follow(program, step, here, 'hold');
    const next = here.map((h, s) => h | again[s]!);
    if (next.every((n, s) => n === here[s])) return here;
    here = next;
  }
}

/** Of the settings that hold, those from which no change of flags leads to one that does not. Found from the way out back. */
function neverLeaving(program: StepProgram, step: Step, here: Settings): Settings {
  const holding = byFreeFlags(program, step, here, 'hold');
  const stuck = here.map((h, s) => (h === 1 && step.words[s]!.steps === 'hold' ? 1 : 0));
  for (let found = true; found; ) {
    found = false;
    const leaving = here.map((h, s) => h & ~stuck[s]!);
    for (const [free, group] of holding) {
      const nearTheWayOut = freed(leaving, free, program.possible);
      for (let s = 0; s < stuck.length; s++) {
        if (stuck[s] === 0 || group[s] === 0 || nearTheWayOut[s] === 0) continue;
        stuck[s] = 0;
        found = true;
      }
    }
  }
  return stuck;
}
