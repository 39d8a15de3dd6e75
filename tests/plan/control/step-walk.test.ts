// The walk over all flags, held to a machine that is clocked step by step with random flags.
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { compileProgram } from '../../../src/plan/control/step-program.js';
import type { StepContents } from '../../../src/plan/control/step-schema.js';
import { walk } from '../../../src/plan/control/step-walk.js';
import { compiled, fieldsOf } from './compiled.js';

const fields = fieldsOf({ order: 1, step: 3, dark: 1, gale: 1, full: 1 });
const flags = ['dark', 'gale', 'full'];
const lineNames = ['steps.restart', 'steps.hold', 'shade.turn', 'lamp.light'];

const condition = fc.dictionary(fc.constantFrom(...flags), fc.constantFrom(0, 1), { maxKeys: 2 });
const lines = fc.subarray(lineNames, { maxLength: 2 });
const step = fc.record({
  do: fc.constant<string[]>([]),
  cases: fc.array(fc.record({ when: condition, do: lines }), { maxLength: 3 }),
});
const program = fc.record({
  steady: fc.subarray(flags),
  steps: fc.array(step, { minLength: 1, maxLength: 6 }),
});

const contentsOf = ({ steady, steps }: { steady: string[]; steps: StepContents['instructions'][string]['steps'] }) =>
  ({
    kind: 'control-by-step',
    opcode: 'order',
    step: 'step',
    flags,
    steady,
    lines: {
      'steps.restart': { steps: 'restart' },
      'steps.hold': { steps: 'hold' },
      'shade.turn': { changes: 'dark' },
      'lamp.light': {},
    },
    instructions: { only: { opcode: 0, steps } },
  }) satisfies StepContents;

describe('when an instruction is walked through', () => {
  it('then exactly the settings are reached that a clocked machine can meet', () => {
    fc.assert(
      fc.property(program, (drawn) => {
        const compiled = compileProgram(contentsOf(drawn), fields).program!;
        const { steps } = compiled.instructions[0]!;
        const { reached, left } = walk(compiled, steps);
        // The machine itself: from (step, setting), every (step, setting) that one clock can lead to.
        const met = new Set<string>();
        const waiting = Array.from({ length: 8 }, (_, setting) => ({ at: 0, setting }));
        for (let state = waiting.pop(); state !== undefined; state = waiting.pop()) {
          const key = `${state.at} ${state.setting}`;
          if (met.has(key)) continue;
          met.add(key);
          const word = steps[state.at]?.words[state.setting];
          if (word === undefined) continue;
          const on = word.lines.map((i) => lineNames[i]!);
          if (on.includes('steps.restart')) continue;
          for (let setting = 0; setting < 8; setting++) {
            const fits = flags.every((flag, bit) => {
              const free = !drawn.steady.includes(flag) || (flag === 'dark' && on.includes('shade.turn'));
              return free || ((setting ^ state.setting) & (1 << bit)) === 0;
            });
            if (fits) waiting.push({ at: on.includes('steps.hold') ? state.at : state.at + 1, setting });
          }
        }
        const expected = [...steps.keys(), steps.length].map((at) =>
          Array.from({ length: 8 }, (_, setting) => (met.has(`${at} ${setting}`) ? 1 : 0)),
        );
        expect([...reached, left].map((set) => [...set])).toEqual(expected);
      }),
      { numRuns: 300 },
    );
  });
});

describe('when a step waits for flags', () => {
  /** Everything said of one instruction with these steps; `hold` waits, `dark` and `gale` let those flags change. */
  const said = (steady: string, steps: string): readonly string[] =>
    compiled(
      `
kind: control-by-step
opcode: order
step: step
flags: [dark, gale]
steady: [${steady}]
lines: { end: { steps: restart }, hold: { steps: hold }, dark: { changes: dark }, gale: { changes: gale }, vane: { drives: rail }, cups: { drives: rail } }
buses: { rail: {} }
unused: { opcodes: idle }
instructions:
  other: { opcode: 1, steps: [dark, gale, vane, cups, hold end] }
  wait: { opcode: 0, steps: [${steps}] }
`,
      fields,
    ).findings.flatMap((f) => (f.message.startsWith('"other"') ? [] : f.message));

  it('then the way out may lead over several settings, each with its own flag that can change', () => {
    const wait = `{ cases: [
      { when: { dark: 1, gale: 1 }, do: hold dark },
      { when: { dark: 0, gale: 1 }, do: hold gale },
      { do: end }] }`;
    expect(said('dark, gale', wait)).toEqual([]);
  });

  it('then only a flag that can change in the very setting leads out of it', () => {
    const wait = `{ cases: [
      { when: { dark: 1, gale: 1 }, do: hold },
      { when: { dark: 0, gale: 1 }, do: hold gale },
      { do: end }] }`;
    expect(said('dark, gale', wait)).toEqual(['"wait" never ends: step 0 holds itself for ever, when dark=1 gale=1.']);
  });

  it('then settings that never come there are not waited in', () => {
    const wait = '{ when: { gale: 1 }, do: end }, { cases: [{ when: { gale: 1 }, do: hold }, { do: end }] }';
    expect(said('gale', wait)).toEqual([]);
  });

  it('then a flag that changes meanwhile is met in both values', () => {
    const wait = `{ when: { dark: 1 }, do: end }, { cases: [
      { when: { dark: 0 }, do: hold dark },
      { do: vane cups end }] }`;
    expect(said('dark', wait)).toEqual(['"wait", step 1, when dark=1: "vane" and "cups" drive bus "rail" together.']);
  });
});
