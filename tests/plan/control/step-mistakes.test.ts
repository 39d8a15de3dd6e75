// What a control store by step has wrong, said in full: sentence, reason, and the path into the contents.
import { describe, expect, it } from 'vitest';
import type { Finding } from '../../../src/plan/table.js';
import { compiled, compiledMaybe, fieldsOf } from './compiled.js';

const fields = fieldsOf({ order: 2, step: 2, dark: 1, gale: 1 });

interface Parts {
  readonly flags?: string;
  readonly contents?: string;
  readonly lines?: string;
  readonly instructions: string;
}

/** Contents in which every line is used by an instruction `rest` of opcode 0, and unused opcodes are chosen to be idle. */
const contentsOf = ({
  flags = 'flags: [dark, gale]',
  contents = 'unused: { opcodes: idle }',
  lines = '',
  instructions,
}: Parts) => `
kind: control-by-step
opcode: order
step: step
${flags}
${contents}
lines:
  lamp.light:
  bell.ring: {}
  steps.restart: { steps: restart }
  ${lines}
instructions:
  rest: { opcode: 0, steps: [lamp.light bell.ring, steps.restart] }
  ${instructions}
`;

const restart = 'steps: [steps.restart]';
const counter = 'A step counter of 2 bits goes from 3 back to 0, so the steps from here on never come.';
const oneAnswer = 'The store answers an opcode with one instruction only; give one of them another.';
const otherwise = 'Unused opcodes are idle, restart or undefined, or do what one instruction does.';
const noRestart = 'Give the line that takes the step counter back to 0 "steps: restart" under "lines".';
const runsOn = (lines: string): string =>
  `If that is meant, say "unused: { steps: wrap }"; if not, assert ${lines} in the last step.`;
const firstCase = 'The first case that holds is taken; put it higher, or leave it out.';
const noEndOfWait =
  'No flag that could end the wait can change; name it in "changes" of a line, or take it out of "steady".';

type Said = Pick<Finding, 'severity' | 'code' | 'message' | 'why' | 'path' | 'onKey'>;
const error = (code: string, message: string, why: string, path: Finding['path'], onKey = false): Said => ({
  ...{ severity: 'error', code, message, why, path, onKey },
});
const warning = (...said: Parameters<typeof error>): Said => ({ ...error(...said), severity: 'warning' });

const mistakes: readonly (readonly [string, Parts, readonly Said[]])[] = [
  ['nothing is wrong', { instructions: `ring: { opcode: 1, ${restart} }` }, []],
  [
    'three instructions claim one opcode',
    {
      instructions: `a: { opcode: 1, ${restart} }\n  b: { opcode: 1, steps: [bell.ring, steps.restart] }\n  c: { opcode: [1, 2], steps: [lamp.light, steps.restart] }`,
    },
    [
      error('opcode.twice', 'Opcode 1 belongs to "a" already, so "b" cannot have it.', oneAnswer, [
        'instructions',
        'b',
        'opcode',
      ]),
      error('opcode.twice', 'Opcode 1 belongs to "a" already, so "c" cannot have it.', oneAnswer, [
        'instructions',
        'c',
        'opcode',
      ]),
    ],
  ],
  [
    'an instruction claims opcodes of two others',
    { instructions: `a: { opcode: [1, 2], ${restart} }\n  b: { opcode: 0..2, steps: [bell.ring, steps.restart] }` },
    [
      error('opcode.twice', 'Opcode 0 belongs to "rest" already, so "b" cannot have it.', oneAnswer, [
        'instructions',
        'b',
        'opcode',
      ]),
      error('opcode.twice', 'Opcodes 1, 2 belong to "a" already, so "b" cannot have them.', oneAnswer, [
        'instructions',
        'b',
        'opcode',
      ]),
    ],
  ],
  [
    'an opcode is a word that no field value has',
    { instructions: `a: { opcode: ring, ${restart} }` },
    [
      error(
        'opcode.wrong',
        'The opcode of "a" is not right: "ring" is no value of the field "order", which is 2 bits wide: 0 to 3.',
        'Numbers are decimal; 0x begins a hexadecimal number and 0b a binary one.',
        ['instructions', 'a', 'opcode'],
      ),
    ],
  ],
  [
    'an instruction has a step too many behind a common one',
    {
      contents: 'unused: { opcodes: idle }\nfirst: [lamp.light]',
      instructions: 'a: { opcode: 1, steps: [[], [], [], steps.restart] }',
    },
    [
      error('step.beyond', '"a" has 5 steps with the common ones, but the field "step" counts only 4.', counter, [
        'instructions',
        'a',
        'steps',
        3,
      ]),
    ],
  ],
  [
    'the common steps fill the counter and leave an instruction no room',
    {
      contents: 'unused: { opcodes: idle }\nfirst: [lamp.light, [], [], []]',
      instructions: 'a: { opcode: 1, steps: [] }',
    },
    [
      error('step.beyond', '"rest" has 6 steps with the common ones, but the field "step" counts only 4.', counter, [
        'instructions',
        'rest',
        'steps',
        0,
      ]),
    ],
  ],
  [
    'the common steps alone are too many',
    { contents: 'unused: { opcodes: idle }\nfirst: [lamp.light, [], [], [], []]', instructions: '' },
    [
      error('step.beyond', 'There are 5 common first steps, but the field "step" counts only 4.', counter, [
        'first',
        4,
      ]),
    ],
  ],
  [
    'steps fill the counter to the last and none restarts it',
    { instructions: 'a: { opcode: 1, steps: [lamp.light, [], [], bell.ring] }' },
    [],
  ],
  [
    'an instruction does not end',
    {
      lines: 'steps.begin: { steps: restart }',
      instructions: 'a: { opcode: 1, steps: [lamp.light, [], { when: { dark: 1, gale: 0 }, do: steps.begin }] }',
    },
    [
      warning(
        'instruction.wraps',
        '"a" runs on: after its last step, 2, nothing restarts the steps, when dark=0 or dark=1 gale=1, so the counter wraps to step 0 after 1 idle step.',
        runsOn('"steps.restart" or "steps.begin"'),
        ['instructions', 'a'],
        true,
      ),
    ],
  ],
  [
    'an instruction without steps of its own leaves the end to a common step that has one only with some flags',
    {
      contents: 'unused: { opcodes: idle }\nfirst: [bell.ring, { when: { dark: 1 }, do: steps.restart }]',
      instructions: 'a: { opcode: 1, steps: [] }',
    },
    [
      warning(
        'instruction.wraps',
        '"a" runs on: after its last step, 1, nothing restarts the steps, when dark=0, so the counter wraps to step 0 after 2 idle steps.',
        runsOn('"steps.restart"'),
        ['instructions', 'a'],
        true,
      ),
    ],
  ],
  [
    'an instruction has no steps at all',
    { instructions: 'a: { opcode: 1, steps: [] }' },
    [
      warning(
        'instruction.wraps',
        '"a" runs on: it has no steps, and nothing restarts the steps, so the counter wraps to step 0 after 4 idle steps.',
        runsOn('"steps.restart"'),
        ['instructions', 'a'],
        true,
      ),
    ],
  ],
  [
    'steps come after the end, behind a common step',
    {
      contents: 'unused: { opcodes: idle }\nfirst: [lamp.light]',
      instructions: 'a: { opcode: 1, steps: [steps.restart, bell.ring] }',
    },
    [
      warning(
        'step.never',
        '"a", step 2: this step is never reached.',
        'The steps before it end the instruction, or hold, whatever the flags are.',
        ['instructions', 'a', 'steps', 1],
      ),
    ],
  ],
  [
    'a step behind a common one holds itself for ever',
    {
      contents: 'unused: { opcodes: idle }\nfirst: [lamp.light]\nsteady: [gale]',
      lines: 'steps.hold: { steps: hold }',
      instructions:
        'a: { opcode: 1, steps: [[], { do: [], cases: [{ when: { gale: 1 }, do: steps.hold }] }, steps.restart] }',
    },
    [
      error('instruction.never-ends', '"a" never ends: step 2 holds itself for ever, when gale=1.', noEndOfWait, [
        'instructions',
        'a',
        'steps',
        1,
      ]),
    ],
  ],
  [
    'two lines count one counter behind a common step',
    {
      contents: 'unused: { opcodes: idle }\nfirst: [lamp.light]',
      lines: 'count.up: { counts: log }\n  count.down: { counts: log }',
      instructions: 'a: { opcode: 1, steps: [count.up count.down, steps.restart] }',
    },
    [
      {
        severity: 'warning',
        code: 'counter.twice',
        message: '"a", step 1: several lines count "log" at once.',
        why: 'A counter takes one count in a step; which one is left to the part.',
        path: ['instructions', 'a', 'steps', 0],
      } as Said,
    ],
  ],
  [
    'unused opcodes are to do what no instruction does',
    { contents: 'unused: { opcodes: rset }', instructions: '' },
    [
      error('instruction.unknown', 'There is no instruction "rset" (did you mean "rest"?).', otherwise, [
        'unused',
        'opcodes',
      ]),
    ],
  ],
  [
    'unused opcodes are misspelt',
    { contents: 'unused: { opcodes: undefind }', instructions: '' },
    [
      error('instruction.unknown', 'There is no instruction "undefind" (did you mean "undefined"?).', otherwise, [
        'unused',
        'opcodes',
      ]),
    ],
  ],
  [
    'nothing is said about unused opcodes',
    { contents: '', instructions: `a: { opcode: 3, ${restart} }` },
    [
      warning(
        'opcode.unused',
        '2 of 4 opcodes belong to no instruction and are left to: restart.',
        'Such an opcode comes up after power-up or by a wrong jump; say under "unused: opcodes" what it shall do.',
        ['instructions'],
        true,
      ),
    ],
  ],
  [
    'nothing is said about unused opcodes and there are none',
    { contents: '', instructions: `a: { opcode: 1..3, ${restart} }` },
    [],
  ],
  [
    'a line is asserted only by steps that nobody wrote',
    {
      contents: 'unused: { opcodes: idle, steps: restart }',
      instructions: 'a: { opcode: 1, steps: [] }',
    },
    [],
  ],
  [
    'a condition can hold only with flags that cannot be',
    {
      contents: 'unused: { opcodes: idle }\nimpossible: [{ dark: 1, gale: 1 }]',
      instructions: `a:
    opcode: 1
    steps: [{ cases: [{ when: { dark: 0, gale: 0 }, do: bell.ring }, { when: { dark: 1, gale: 1 }, do: lamp.light }] }, steps.restart]`,
    },
    [
      warning('case.never', 'This case is never chosen: the flags are never so.', firstCase, [
        'instructions',
        'a',
        'steps',
        0,
        'cases',
        1,
      ]),
    ],
  ],
  [
    'the condition of a step can hold only with flags that cannot be',
    {
      contents: 'unused: { opcodes: idle }\nimpossible: [{ dark: 1, gale: 1 }]',
      instructions: 'a: { opcode: 1, steps: [{ when: { dark: 1, gale: 1 }, do: bell.ring }, steps.restart] }',
    },
    [
      warning('case.never', 'This case is never chosen: the flags are never so.', firstCase, [
        'instructions',
        'a',
        'steps',
        0,
        'when',
      ]),
    ],
  ],
  [
    'a case stands behind one that takes all that can be of it',
    {
      contents: 'unused: { opcodes: idle }\nimpossible: [{ dark: 1, gale: 1 }]',
      instructions: `a:
    opcode: 1
    steps: [{ cases: [{ when: { dark: 1, gale: 0 }, do: bell.ring }, { when: { dark: 1 }, do: lamp.light }] }, steps.restart]`,
    },
    [
      warning(
        'case.never',
        'This case is never chosen: the cases before it take every setting that it is for.',
        firstCase,
        ['instructions', 'a', 'steps', 0, 'cases', 1],
      ),
    ],
  ],
  [
    'the flags of a step are misspelt in all the places that they stand in',
    {
      contents: 'unused: { opcodes: idle }\nimpossible: [{ drak: 1 }]\nsteady: [gael]',
      lines: 'shade.turn: { changes: drak }\n  vane.turn: { changes: [gale, galle] }',
      instructions:
        'a: { opcode: 1, steps: [{ when: { gal: 1 }, do: shade.turn vane.turn }, { cases: [{ when: { darc: 1 }, do: [] }] }, steps.restart] }',
    },
    (
      [
        ['gael', 'gale', ['steady', 0], false],
        ['drak', 'dark', ['lines', 'shade.turn', 'changes'], false],
        ['galle', 'gale', ['lines', 'vane.turn', 'changes', 1], false],
        ['drak', 'dark', ['impossible', 0, 'drak'], true],
        ['gal', 'gale', ['instructions', 'a', 'steps', 0, 'when', 'gal'], true],
        ['darc', 'dark', ['instructions', 'a', 'steps', 1, 'cases', 0, 'when', 'darc'], true],
      ] as const
    ).map(([name, near, path, onKey]) =>
      error(
        'flag.unknown',
        `"${name}" is no flag of this control store (did you mean "${near}"?).`,
        'The flags of this control store are dark, gale.',
        path,
        onKey,
      ),
    ),
  ],
  [
    'a step asks for a flag and the store has none',
    { flags: '', instructions: 'a: { opcode: 1, steps: [{ when: { dark: 1 }, do: bell.ring }, steps.restart] }' },
    [
      error(
        'flag.unknown',
        '"dark" is no flag of this control store.',
        'The flags of this control store are none: name them under "flags".',
        ['instructions', 'a', 'steps', 0, 'when', 'dark'],
        true,
      ),
    ],
  ],
  [
    'lines are misspelt in all the places that they stand in',
    {
      contents: 'unused: { opcodes: idle }\nfirst: [[lamp.light, bel.ring]]',
      instructions:
        'a: { opcode: 1, steps: [{ do: lamp.lit, cases: [{ when: { dark: 1 }, do: bell.rign }] }, steps.restart] }',
    },
    (
      [
        ['bel.ring', 'bell.ring', ['first', 0, 1]],
        ['lamp.lit', 'lamp.light', ['instructions', 'a', 'steps', 0, 'do']],
        ['bell.rign', 'bell.ring', ['instructions', 'a', 'steps', 0, 'cases', 0, 'do']],
      ] as const
    ).map(([name, near, path]) =>
      error(
        'line.unknown',
        `There is no control line "${name}" (did you mean "${near}"?).`,
        'Every line that a step asserts is declared under "lines", with what it drives or loads.',
        path,
      ),
    ),
  ],
  [
    'a step has "when" beside "cases"',
    {
      instructions:
        'a: { opcode: 1, steps: [{ when: { dark: 1 }, do: bell.ring, cases: [{ do: [] }] }, steps.restart] }',
    },
    [
      error(
        'step.mixed',
        'A step has either "when" or "cases", not both.',
        'Put the "when" into each case, so that it is plain which one holds.',
        ['instructions', 'a', 'steps', 0, 'when'],
        true,
      ),
    ],
  ],
];

describe('when a control store by step is compiled and judged', () => {
  it.each(mistakes)('and %s then exactly that is said', (_, parts, said) => {
    expect(compiled(contentsOf(parts), fields).findings).toEqual(said);
  });

  it('and instructions differ then none is said to be the same as another, however many lines there are', () => {
    const lines = Array.from({ length: 12 }, (_, i) => `line${i + 1}`);
    const yaml = `
kind: control-by-step
opcode: order
step: step
lines: { ${lines.map((name) => `${name}: {}`).join(', ')} }
instructions:
  all: { opcode: 0, steps: [${lines.join(', ')}] }
  outer: { opcode: 1, steps: [line1, line12] }
  inner: { opcode: 2, steps: [line11, line2] }
  again: { opcode: 3, steps: [line11, line2] }
`;
    const { findings } = compiled(yaml, fieldsOf({ order: 2, step: 4 }));
    expect(findings.map((f) => f.message)).toEqual(['"again" has the same steps as "inner".']);
  });

  it('and another mistake stands in the step of a misspelt line then it is said all the same', () => {
    const parts = {
      lines: 'count.up: { counts: log }\n  count.down: { counts: log }',
      instructions: 'a: { opcode: 1, steps: [count.up count.down steps.restrat] }',
    };
    expect(compiled(contentsOf(parts), fields).findings.map((f) => f.code)).toEqual(['line.unknown', 'counter.twice']);
  });
});

describe('when a line stands only in what the plan says of unused steps and opcodes', () => {
  const bare = (unused: string): readonly string[] =>
    compiled(
      `
kind: control-by-step
opcode: order
step: step
lines: { lamp.light: {}, steps.restart: { steps: restart } }
instructions: { rest: { opcode: 0, steps: [lamp.light] } }
unused: ${unused}
`,
      fields,
    ).findings.flatMap((f) => (f.code === 'line.unused' ? f.message : []));

  it.each(['{ opcodes: idle, steps: restart }', '{ opcodes: restart }'])('and that is %s then it is used', (unused) => {
    expect(bare(unused)).toEqual([]);
  });

  it('and those are idle then no step asserts it', () => {
    expect(bare('{ opcodes: idle }')).toEqual(['No step asserts the line "steps.restart".']);
  });
});

describe('when a step loads from a bus that nobody drives', () => {
  it.each([
    ['{}', 'error'],
    ['{ undriven: unknown }', 'error'],
    ['{ undriven: 0 }', 'warning'],
    ['{ undriven: 1 }', 'warning'],
  ])('and the plan says %s of the bus then that is an %s', (bus, severity) => {
    const { findings } = compiled(
      contentsOf({
        contents: `unused: { opcodes: idle }\nbuses: { rail: ${bus} }`,
        lines: 'display.take: { loads: rail }',
        instructions: 'a: { opcode: 1, steps: [display.take, steps.restart] }',
      }),
      fields,
    );
    expect(findings.map((f) => [f.code, f.severity])).toEqual([['bus.nobody-drives', severity]]);
  });
});

describe('when no line of a control store restarts the steps', () => {
  const bare = (unused: string): string => `
kind: control-by-step
opcode: order
step: step
lines: { lamp.light: {} }
instructions: { rest: { opcode: 0, steps: [lamp.light] } }
${unused}
`;

  it('then an instruction without an end is no mistake, and unused opcodes are left idle', () => {
    const { findings, table } = compiled(bare(''), fields);
    expect(findings.map((f) => f.message)).toEqual(['3 of 4 opcodes belong to no instruction and are left to: idle.']);
    expect(table.explain([1, 0])).toBe('no instruction (order 1), step 0, which is not used: nothing');
  });

  it.each(['steps', 'opcodes'])('and unused %s are to restart then that is said, and they are idle', (key) => {
    const { findings, table } = compiled(
      bare(`unused: { opcodes: idle, ${key}: restart }`.replace('opcodes: idle, opcodes', 'opcodes')),
      fields,
    );
    expect(findings).toEqual([
      error('line.no-restart', 'No line of this control store restarts the step counter.', noRestart, ['unused', key]),
    ]);
    expect(table.at([1, 0])).toEqual([0]);
  });
});

describe('when the fields of a control store by step are not right', () => {
  const said = (yaml: string, given = fields) => {
    const { table, findings } = compiledMaybe(yaml, given);
    expect(table).toBe(null);
    return findings;
  };
  const store = contentsOf({
    contents: 'first: [bel.ring]',
    instructions: 'a: { opcode: 1, steps: [{ cases: [{ do: [lamp.lit] }] }, { do: lamp.lihgt }, [], steps.restart] }',
  });
  const why = 'Every line that a step asserts is declared under "lines", with what it drives or loads.';
  const lines = (
    [
      ['bel.ring', 'bell.ring', ['first', 0]],
      ['lamp.lit', 'lamp.light', ['instructions', 'a', 'steps', 0, 'cases', 0, 'do', 0]],
      ['lamp.lihgt', 'lamp.light', ['instructions', 'a', 'steps', 1, 'do']],
    ] as const
  ).map(([name, near, path]) =>
    error('line.unknown', `There is no control line "${name}" (did you mean "${near}"?).`, why, path),
  );

  it('and none is declared then the reason says where, and misspelt lines are told as well', () => {
    const declare = 'Declare it under "fields".';
    expect(said(store, fieldsOf({}))).toEqual([
      error('field.unknown', 'There is no field "order".', declare, ['opcode']),
      error('field.unknown', 'There is no field "step".', declare, ['step']),
      error('field.unknown', 'There is no field "dark".', declare, ['flags', 0]),
      error('field.unknown', 'There is no field "gale".', declare, ['flags', 1]),
      ...lines,
    ]);
  });

  it('and there are no common steps then the lines of the instructions are told all the same', () => {
    const messages = said(store.replace('first: [bel.ring]', '').replace('step: step', 'step: order')).map(
      (f) => f.message,
    );
    expect(messages).toEqual(['The field "order" is used twice.', ...lines.slice(1).map((line) => line.message)]);
  });

  it('and one is misspelt then the others are named', () => {
    expect(said(store.replace('step: step', 'step: stepp'))).toEqual([
      error(
        'field.unknown',
        'There is no field "stepp" (did you mean "step"?).',
        'Declare it under "fields"; the fields so far are order, step, dark, gale.',
        ['step'],
      ),
      ...lines,
    ]);
  });

  it('and they are wider together than any chip then that is said instead of laying them out', () => {
    expect(said(store, fieldsOf({ order: 8, step: 4, dark: 1, gale: 8 }))).toEqual([
      error(
        'contents.too-wide',
        'The fields of these contents are 21 bits wide together.',
        'At most 20 bits can be worked with; the largest chips have 19 address lines.',
        [],
      ),
      ...lines,
    ]);
  });
});
