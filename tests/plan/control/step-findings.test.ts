// Every kind of mistake that `check` finds in a control store by step, planted in a plan, with message and position.
import { describe, expect, it } from 'vitest';
import { buildPlan, readPlan } from '../../../src/plan/plan.js';
import { inspectMarked, saidOf } from './planted.js';

interface Parts {
  readonly contents?: string;
  readonly lines?: string;
  readonly first?: string;
  readonly instructions: string;
  readonly step?: number;
}

/** A small plan that is right as it stands: two instruments, one display, one bus. */
const planOf = ({ contents = '', lines = '', first = '[]', instructions, step = 2 }: Parts): string => `
plan: planted
fields: { order: 2, step: ${step}, dark: 1, gale: 1 }
contents:
  kind: control-by-step
  opcode: order
  step: step
  flags: [dark, gale]
${contents.includes('unused:') ? '' : '  unused: { opcodes: idle }'}
  buses: { rail: { undriven: unknown }, loft: { undriven: 0 } }
${contents}
  lines:
    vane.show: { drives: rail }
    cups.show: { drives: rail }
    display.take: { loads: rail }
    steps.restart: { steps: restart }
${lines}
  first: ${first}
  instructions:
${instructions}
roms:
  left:
    chip: 28C64
    address: { order: [A0, A1], step: [${Array.from({ length: step }, (_, i) => `A${2 + i}`).join(', ')}], dark: A10, gale: A11, low: ${Array.from(
      { length: 13 },
      (_, i) => `A${i}`,
    )
      .filter((_, i) => i >= 2 + step && i !== 10 && i !== 11)
      .join(' ')} }
    data: { vane.show: D0, cups.show: D1, display.take: D2, steps.restart: D3, unused: D4..D7 }
`;

const right = `
    look-at-vane: { opcode: 1, steps: [vane.show display.take, steps.restart] }
    look-at-cups: { opcode: 2, steps: [cups.show display.take, steps.restart] }
`;

interface Planted extends Parts {
  readonly code: string;
  readonly says: string;
  readonly severity?: 'warning';
}

const planted: readonly (readonly [string, Planted])[] = [
  [
    'an opcode stands twice',
    {
      code: 'opcode.twice',
      instructions: `${right}    look-again: { opcode: »1, steps: [cups.show, steps.restart] }`,
      says: 'Opcode 1 belongs to "look-at-vane" already, so "look-again" cannot have it.',
    },
  ],
  [
    'an opcode stands twice, in hexadecimal',
    {
      code: 'opcode.twice',
      instructions: `${right}    look-again: { opcode: »0x1, steps: [cups.show, steps.restart] }`,
      says: 'Opcode 0x1 belongs to "look-at-vane" already, so "look-again" cannot have it.',
    },
  ],
  [
    'two opcodes stand twice, in binary',
    {
      code: 'opcode.twice',
      instructions: `    look-at-cups: { opcode: 1..3, steps: [cups.show display.take, steps.restart] }\n    look-again: { opcode: »0b1-, steps: [cups.show, steps.restart] }`,
      says: 'Opcodes 0b10, 0b11 belong to "look-at-cups" already, so "look-again" cannot have them.',
    },
  ],
  [
    'an opcode does not fit its field',
    {
      code: 'opcode.wrong',
      instructions: `${right}    look-again: { opcode: »4, steps: [cups.show, steps.restart] }`,
      says: 'The opcode of "look-again" is not right: 4 is no value of the field "order", which is 2 bits wide: 0 to 3.',
    },
  ],
  [
    'an instruction has more steps than the step field counts',
    {
      code: 'step.beyond',
      first: '[cups.show display.take]',
      instructions: `${right}    look-long: { opcode: 3, steps: [vane.show, cups.show, vane.show, »steps.restart] }`,
      says: '"look-long" has 5 steps with the common ones, but the field "step" counts only 4.',
    },
  ],
  [
    'the common steps alone are too many',
    {
      code: 'step.beyond',
      first: '[cups.show, cups.show, cups.show, cups.show, »cups.show]',
      instructions: right,
      says: 'There are 5 common first steps, but the field "step" counts only 4.',
    },
  ],
  [
    'two lines drive one bus in one step',
    {
      code: 'bus.two-drivers',
      instructions: `${right}    look-twice: { opcode: 3, steps: [»vane.show cups.show, steps.restart] }`,
      says: '"look-twice", step 0: "vane.show" and "cups.show" drive bus "rail" together.',
    },
  ],
  [
    'two lines drive one bus only with some flags',
    {
      code: 'bus.two-drivers',
      instructions: `${right}    look-so:
      opcode: 3
      steps:
        - »do: vane.show
          cases: [{ when: { dark: 1, gale: 0 }, do: cups.show }]
        - steps.restart`,
      says: '"look-so", step 0, when dark=1 gale=0: "vane.show" and "cups.show" drive bus "rail" together.',
    },
  ],
  [
    'two lines drive one bus in a common step',
    {
      code: 'bus.two-drivers',
      first: '[»vane.show cups.show]',
      instructions: right,
      says: 'Every instruction, step 0: "vane.show" and "cups.show" drive bus "rail" together.',
    },
  ],
  [
    'a line loads from a bus that nobody drives and that reads anything',
    {
      code: 'bus.nobody-drives',
      instructions: `${right}    look-up: { opcode: 3, steps: [»display.take, steps.restart] }`,
      says: '"look-up", step 0: "display.take" loads from bus "rail", which nobody drives.',
    },
  ],
  [
    'a line loads from a bus that nobody drives and that reads 0',
    {
      code: 'bus.nobody-drives',
      severity: 'warning',
      lines: '    lamp.take: { loads: loft }',
      instructions: `${right}    look-up: { opcode: 3, steps: [»lamp.take, steps.restart] }`,
      says: '"look-up", step 0: "lamp.take" loads from bus "loft", which nobody drives.',
    },
  ],
  [
    'a line is never used',
    {
      code: 'line.unused',
      severity: 'warning',
      lines: '    »lamp.light: {}',
      instructions: right,
      says: 'No step asserts the line "lamp.light".',
    },
  ],
  [
    'an instruction runs on through idle steps',
    {
      code: 'instruction.wraps',
      severity: 'warning',
      instructions: `${right}    »look-on: { opcode: 3, steps: [vane.show] }`,
      says: '"look-on" runs on: after its last step, 0, nothing restarts the steps, so the counter wraps to step 0 after 3 idle steps.',
    },
  ],
  [
    'an instruction runs on with some flags',
    {
      code: 'instruction.wraps',
      severity: 'warning',
      step: 1,
      instructions: `${right}    »look-on: { opcode: 3, steps: [{ do: steps.restart, when: { gale: 1 } }] }`,
      says: '"look-on" runs on: after its last step, 0, nothing restarts the steps, when gale=0, so the counter wraps to step 0 after 1 idle step.',
    },
  ],
  [
    'an instruction holds for ever, because the flag it waits for cannot change',
    {
      code: 'instruction.never-ends',
      contents: '  steady: [gale]',
      lines: '    steps.hold: { steps: hold }',
      instructions: `${right}    wait: { opcode: 3, steps: [»{ cases: [{ when: { gale: 1 }, do: steps.hold }, { do: steps.restart }] }] }`,
      says: '"wait" never ends: step 0 holds itself for ever, when gale=1.',
    },
  ],
  [
    'an instruction runs on through steps that are undefined',
    {
      code: 'instruction.never-ends',
      contents: '  unused: { opcodes: idle, steps: undefined }',
      instructions: `${right}    »look-on: { opcode: 3, steps: [vane.show] }`,
      says: '"look-on" never ends: after its last step, 0, nothing restarts the steps.',
    },
  ],
  [
    'a step holds itself whatever the flags are',
    {
      code: 'instruction.stops',
      severity: 'warning',
      lines: '    steps.hold: { steps: hold }',
      instructions: `${right}    wait: { opcode: 3, steps: [vane.show, »steps.hold] }`,
      says: '"wait" stops here until a reset: step 1 holds itself whatever the flags are.',
    },
  ],
  [
    'a step is held and restarted at once',
    {
      code: 'steps.both',
      severity: 'warning',
      lines: '    steps.hold: { steps: hold }',
      instructions: `${right}    wait: { opcode: 3, steps: [»{ do: steps.hold, cases: [{ when: { gale: 0 }, do: steps.restart }] }] }`,
      says: '"wait", step 0, when gale=0: "steps.hold" holds the step and "steps.restart" restarts the steps, both at once.',
    },
  ],
  [
    'two instructions have the same steps',
    {
      code: 'instruction.same',
      severity: 'warning',
      instructions: `${right}    »look-again: { opcode: 3, steps: [display.take vane.show, steps.restart] }`,
      says: '"look-again" has the same steps as "look-at-vane".',
    },
  ],
  [
    'a step comes after the end',
    {
      code: 'step.never',
      severity: 'warning',
      instructions: `${right}    look-past: { opcode: 3, steps: [steps.restart, »vane.show] }`,
      says: '"look-past", step 1: this step is never reached.',
    },
  ],
  [
    'a case stands behind one that takes everything',
    {
      code: 'case.never',
      severity: 'warning',
      instructions: `${right}    look-so: { opcode: 3, steps: [{ cases: [{ do: steps.restart }, »{ when: { dark: 1 }, do: vane.show }] }] }`,
      says: 'This case is never chosen: the cases before it take every setting that it is for.',
    },
  ],
  [
    'a step names a line that is not there',
    {
      code: 'line.unknown',
      instructions: `${right}    look-so: { opcode: 3, steps: [»vane.shaw steps.restart] }`,
      says: 'There is no control line "vane.shaw" (did you mean "vane.show"?).',
    },
  ],
  [
    'a condition names a field that is no flag',
    {
      code: 'flag.unknown',
      instructions: `${right}    look-so: { opcode: 3, steps: [{ when: { »drak: 1 }, do: steps.restart }, steps.restart] }`,
      says: '"drak" is no flag of this control store (did you mean "dark"?).',
    },
  ],
  [
    'a condition asks for a value that its flag cannot have',
    {
      code: 'flag.value',
      instructions: `${right}    look-so: { opcode: 3, steps: [{ when: { dark: »2 }, do: steps.restart }, steps.restart] }`,
      says: 'The condition on "dark" can never hold: 2 is no value of the field "dark", which is 1 bit wide: 0 to 1.',
    },
  ],
  [
    'a line drives a bus that is not there',
    {
      code: 'bus.unknown',
      lines: '    lamp.show: { drives: »raill }',
      instructions: right,
      says: '"lamp.show" drives bus "raill", which "buses" does not name.',
    },
  ],
  [
    'two lines count one counter at once',
    {
      code: 'counter.twice',
      severity: 'warning',
      lines: '    store.advance: { counts: store }\n    store.go-back: { counts: store }',
      instructions: `${right}    turn: { opcode: 3, steps: [»store.advance store.go-back steps.restart] }`,
      says: '"turn", step 0: several lines count "store" at once.',
    },
  ],
];

describe('when a mistake is planted in a control store by step', () => {
  it.each(planted)('and %s then check says so at its place', (_, { code, says, severity, ...parts }) => {
    const { findings, marks } = inspectMarked(planOf(parts));
    expect(saidOf(findings, code)).toEqual([`${marks[0]} ${says}`]);
    const finding = findings.find((f) => f.code === code)!;
    expect(finding.severity).toBe(severity ?? 'error');
    expect(finding.why).toMatch(/^.{20,}[.?]$/);
  });
});

describe('when a control store by step is right', () => {
  it('then nothing is found in it', () => {
    expect(inspectMarked(planOf({ instructions: right })).findings.filter((f) => f.code !== 'input.unused')).toEqual(
      expect.not.arrayContaining([expect.objectContaining({ severity: 'error' })]),
    );
  });

  it('and opcodes are left over without a word about them then their number is said', () => {
    const text = planOf({ instructions: right }).replace('  unused: { opcodes: idle }\n', '');
    expect(saidOf(inspectMarked(text).findings, 'opcode.unused')).toEqual([
      expect.stringContaining('2 of 4 opcodes belong to no instruction and are left to: restart.'),
    ]);
  });

  it('and flags that cannot be together would let two drivers meet then that is no mistake', () => {
    const meeting = `${right}    look-so: { opcode: 3, steps: [{ do: vane.show, cases: [{ when: { dark: 1, gale: 1 }, do: cups.show }] }, steps.restart] }`;
    expect(saidOf(inspectMarked(planOf({ instructions: meeting })).findings, 'bus.two-drivers')).toHaveLength(1);
    const contents = '  impossible: [{ dark: 1, gale: 1 }]';
    expect(saidOf(inspectMarked(planOf({ contents, instructions: meeting })).findings, 'bus.two-drivers')).toEqual([]);
  });

  it('and steady flags kept a setting from a step then two drivers there are no mistake', () => {
    const instructions = `${right}    look-so: { opcode: 3, steps: [{ when: { dark: 1 }, do: steps.restart }, { do: vane.show steps.restart, cases: [{ when: { dark: 1 }, do: cups.show }] }] }`;
    expect(saidOf(inspectMarked(planOf({ instructions })).findings, 'bus.two-drivers')).toHaveLength(1);
    const contents = '  steady: [dark]';
    expect(saidOf(inspectMarked(planOf({ contents, instructions })).findings, 'bus.two-drivers')).toEqual([]);
  });

  it('and a line changes a steady flag then both its values count from the next step on', () => {
    const instructions = `${right}    look-so: { opcode: 3, steps: [{ when: { dark: 1 }, do: steps.restart }, shade.turn, { do: vane.show steps.restart, cases: [{ when: { dark: 1 }, do: cups.show }] }] }`;
    const lines = '    shade.turn: { changes: dark }';
    expect(
      saidOf(inspectMarked(planOf({ contents: '  steady: [dark]', lines, instructions })).findings, 'bus.two-drivers'),
    ).toHaveLength(1);
  });

  it('and the plan answers what becomes of it then nothing is said', () => {
    const runsOn = `${right}    look-on: { opcode: 3, steps: [vane.show] }`;
    const wraps = planOf({ contents: '  unused: { opcodes: idle, steps: wrap }', instructions: runsOn });
    const idles = planOf({ contents: '  unused: { opcodes: idle, steps: idle }', instructions: runsOn });
    expect(saidOf(inspectMarked(wraps).findings, 'instruction.wraps')).toEqual([]);
    expect(saidOf(inspectMarked(idles).findings, 'instruction.wraps')).toHaveLength(1);
    const images = [wraps, idles].map((text) => buildPlan(readPlan(text, 'p.yaml'))[0]!.image);
    expect(images[0]).toEqual(images[1]);
    const stops = `${right}    wait: { opcode: 3, steps: [steps.hold] }`;
    const stopped = planOf({ lines: '    steps.hold: { steps: stop }', instructions: stops });
    expect(saidOf(inspectMarked(stopped).findings, 'instruction.stops')).toEqual([]);
  });

  it('and empty steps restart then an instruction without an end ends there', () => {
    const contents = '';
    const instructions = `${right}    look-on: { opcode: 3, steps: [vane.show] }`;
    const text = planOf({ contents, instructions }).replace('{ opcodes: idle }', '{ opcodes: idle, steps: restart }');
    expect(saidOf(inspectMarked(text).findings, 'instruction.never-ends')).toEqual([]);
  });
});

describe('when a plan has many mistakes', () => {
  it('then all are said at once', () => {
    const instructions = `
    one: { opcode: 1, steps: [vane.show cups.show, steps.restart] }
    two: { opcode: 1, steps: [display.take, steps.restart] }
    three: { opcode: 9, steps: [lamp.light, steps.restart] }
    four: { opcode: 2, steps: [{ when: { full: 1 }, do: vane.show }, steps.restart] }
    five: { opcode: 3, steps: [{ when: { dark: 7 }, do: vane.show }] }
    six: { opcode: 0, steps: [vane.show, vane.show, vane.show, vane.show, steps.restart] }`;
    const lines = '    radio.take: { loads: air }\n    bell.ring: {}';
    const { findings } = inspectMarked(planOf({ lines, instructions, contents: '  steady: [calm]' }));
    expect(findings.map((f) => f.code)).toEqual(
      expect.arrayContaining([
        'bus.two-drivers',
        'opcode.twice',
        'bus.nobody-drives',
        'opcode.wrong',
        'line.unknown',
        'flag.unknown',
        'flag.value',
        'step.beyond',
        'bus.unknown',
        'line.unused',
      ]),
    );
    expect(findings.filter((f) => f.code === 'flag.unknown')).toHaveLength(2);
  });
});
