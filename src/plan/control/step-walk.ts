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

const isEmpty = (settings: Settings): boolean => !settings.includes(1);

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
  const groups = new Map<number, Settings>();
  for (let s = 0; s < from.length; s++) {
    const word = step.words[s]!;
    if (from[s] !== 1 || word.steps !== effect) continue;
    const free = program.restless | word.changes;
    const group = groups.get(free) ?? new Uint8Array(from.length);
    group[s] = 1;
    groups.set(free, group);
  }
  for (const [free, group] of groups) {
    const next = freed(group, free, program.possible);
    for (let s = 0; s < after.length; s++) after[s]! |= next[s]!;
  }
  return after;
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

function neverLeaving(program: StepProgram, step: Step, here: Settings): Settings {
  const holding = here.map((h, s) => (h === 1 && step.words[s]!.steps === 'hold' ? 1 : 0));
  if (isEmpty(holding)) return holding;
  return holding.map((holds, s) => {
    if (holds === 0) return 0;
    const alone = new Uint8Array(here.length);
    alone[s] = 1;
    const waits = withHolds(program, step, alone);
    return waits.some((w, t) => w === 1 && step.words[t]!.steps !== 'hold') ? 0 : 1;
  });
}
