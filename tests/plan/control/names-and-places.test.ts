// Names in a control store that mean nothing, or two things: what is said, what would have been right, and the place.
import { describe, expect, it } from 'vitest';
import { inspectMarked } from './planted.js';

const byStep = `
plan: planted
fields: { order: { bits: 2, names: { look: 1 } }, step: 2, dark: 1, gale: 1 }
contents:
  kind: control-by-step
  opcode: order
  step: step
  flags: [dark, gale]
  unused: { opcodes: idle, steps: idle }
  steady: [dark]
  impossible: [{ dark: 1, gale: 1 }]
  lines:
    vane.show: {}
    display.light: { changes: gale }
    steps.restart: { steps: restart }
  first: [vane.show]
  instructions:
    look: { opcode: look, steps: [{ when: { gale: 1 }, do: display.light }, steps.restart] }
    wait: { opcode: 2, steps: [{ do: vane.show, cases: [{ when: { dark: 1 }, do: display.light }] }, steps.restart] }
roms:
  left:
    chip: 28C16
    address: { order: A0..A1, step: A2..A3, dark: A4, gale: A5, low: A6..A10 }
    data: { vane.show: D0, display.light: D1, steps.restart: D2, unused: D3..D7 }
`;

const byAddress = `
plan: planted
fields: { place: 3, command: { bits: 1, names: { look: 0, wait: 1 } } }
contents:
  kind: control-by-address
  address: place
  start: begin
  word:
    lamp: {}
    way: { bits: 2, codes: { on: { code: 0, goes: next }, jump: { code: 1, goes: target }, by: { code: 2, goes: orders }, away: { code: 3, goes: elsewhere } } }
    target: { bits: 3, holds: address }
  dispatch:
    orders: { by: command, to: { look: begin }, otherwise: 1 }
  unused: way=jump target=begin
  program: |
    begin: lamp
           way=by
roms:
  only:
    chip: 28C16
    address: { place: A0..A2, command: A3, low: A4..A10 }
    data: { lamp: D0, way: D1..D2, target: D3..D5, unused: D6..D7 }
  other:
    chip: 28C16
    address: { place: A0..A2, command: A3, low: A4..A10 }
    data: { orders: D0..D2, unused: D3..D7 }
`;

interface Mistake {
  readonly put: string;
  readonly by: string;
  readonly code: string;
  readonly says: string;
  readonly why?: string;
}

/** In `plan` the text `put` is replaced by text with a mark at the place of the finding. */
const inTheStore = (plan: string, { put, by, code, says, why = '' }: Mistake): void => {
  expect(plan.split(put)).toHaveLength(2);
  const { findings, marks } = inspectMarked(plan.replace(put, by));
  const found = findings.filter((f) => f.code === code);
  expect(found.map((f) => `${f.line}:${f.column}`)).toEqual(marks);
  for (const { message } of found) expect(message).toContain(says);
  for (const finding of found) expect(finding.why).toContain(why);
};

describe('a control store by step', () => {
  it('when nothing is planted then nothing is found', () => {
    expect(inspectMarked(byStep).findings.filter((f) => f.severity === 'error')).toEqual([]);
  });

  const known = 'the fields so far are order, step, dark, gale';
  const own = 'The opcode, the step and each flag are fields of their own.';
  const ofIts = 'The flags of this control store are dark, gale.';
  it.each<Mistake>([
    {
      put: 'opcode: order',
      by: 'opcode: »ordr',
      code: 'field.unknown',
      says: '"ordr"',
      why: known,
    },
    { put: 'step: step', by: 'step: »stp', code: 'field.unknown', says: 'no field "stp"', why: known },
    { put: '[dark, gale]', by: '[dark, »gael]', code: 'field.unknown', says: 'no field "gael"', why: known },
    {
      put: '[dark, gale]',
      by: '[dark, gale, »order]',
      code: 'field.twice',
      says: 'The field "order" is used twice.',
      why: own,
    },
    { put: 'steady: [dark]', by: 'steady: [dark, »gael]', code: 'flag.unknown', says: '"gael" is no flag', why: ofIts },
    {
      put: 'changes: gale',
      by: 'changes: »gael',
      code: 'flag.unknown',
      says: '"gael" is no flag',
      why: ofIts,
    },
    { put: 'changes: gale', by: 'changes: [gale, »drak]', code: 'flag.unknown', says: '"drak" is no flag', why: ofIts },
    {
      put: '[{ dark: 1, gale: 1 }]',
      by: '[{ dark: 1 }, { »gael: 1 }]',
      code: 'flag.unknown',
      says: '"gael" is no flag',
      why: ofIts,
    },
    { put: 'when: { gale: 1 }', by: 'when: { »gael: 1 }', code: 'flag.unknown', says: '"gael" is no flag', why: ofIts },
    {
      put: 'when: { dark: 1 }, do',
      by: 'when: { »drak: 1 }, do',
      code: 'flag.unknown',
      says: '"drak" is no flag',
      why: ofIts,
    },
    { put: 'do: vane.show,', by: 'do: »vane.shw,', code: 'line.unknown', says: '"vane.shw"' },
    {
      put: 'dark: 1 }, do: display.light',
      by: 'dark: 1 }, do: »display.lit',
      code: 'line.unknown',
      says: '"display.lit"',
    },
    {
      put: '{ do: vane.show, cases',
      by: '{ »when: { gale: 0 }, do: vane.show, cases',
      code: 'step.mixed',
      says: 'A step has either "when" or "cases", not both.',
      why: 'Put the "when" into each case',
    },
    {
      put: 'opcode: 2,',
      by: 'opcode: »weit,',
      code: 'opcode.wrong',
      says: '"weit" is no value of the field "order", which is 2 bits wide: 0 to 3, or one of look',
    },
  ])('when $by stands for $put then $code is found there', (mistake) => inTheStore(byStep, mistake));

  it('when unused steps are to restart and no line does then that is said, and how to give one', () => {
    const plan = byStep.replace('{ steps: restart }', '{}').replace('steps: idle', 'steps: »restart');
    const { findings, marks } = inspectMarked(plan);
    const [found] = findings.filter((f) => f.code === 'line.no-restart');
    expect(`${found?.line}:${found?.column}`).toBe(marks[0]);
    expect(found?.message).toContain('No line of this control store restarts the step counter.');
    expect(found?.why).toContain('"steps: restart" under "lines"');
  });

  it('when the common flags are never so then a case for them is said to be never chosen, and why', () => {
    const whys = (condition: string) => {
      const plan = byStep.replace(
        '[{ when: { dark: 1 }, do',
        `[{ when: { gale: 0 }, do: [] }, { when: ${condition}, do`,
      );
      return inspectMarked(plan).findings.flatMap((f) => (f.code === 'case.never' ? f.message : []));
    };
    expect(whys('{ dark: 0 }')).toEqual([]);
    expect(whys('{ dark: 0, gale: 0 }')).toEqual([expect.stringContaining('the cases before it take every setting')]);
    const never = byStep.replace('[{ when: { dark: 1 }, do', '[{ when: { dark: 1, gale: 1 }, do');
    const [said] = inspectMarked(never).findings.filter((f) => f.code === 'case.never');
    expect(said?.message).toContain('the flags are never so');
  });
});

describe('a control store by address', () => {
  it('when nothing is planted then nothing is found', () => {
    expect(inspectMarked(byAddress).findings.filter((f) => f.severity === 'error')).toEqual([]);
  });

  const other = 'A dispatch goes by another field of the plan, such as an opcode.';
  const left = 'On the left stands a value of the field, on the right a label.';
  const rename = 'give one of them another name';
  it.each<Mistake>([
    {
      put: 'address: place\n  start',
      by: 'address: »plce\n  start',
      code: 'field.unknown',
      says: '"plce"',
      why: 'the fields are place, command',
    },
    {
      put: 'by: command',
      by: 'by: »comand',
      code: 'field.unknown',
      says: '"comand"',
      why: other,
    },
    { put: 'by: command', by: 'by: »place', code: 'field.unknown', says: '"place" is the address itself.', why: other },
    {
      put: '{ look: begin }',
      by: '{ »lok: begin }',
      code: 'opcode.wrong',
      says: '"lok" is no value of the field "command", which is 1 bit wide: 0 to 1, or one of look, wait',
      why: left,
    },
    {
      put: '{ look: begin }',
      by: '{ »2: begin }',
      code: 'opcode.wrong',
      says: '2 is no value of the field "command"',
      why: left,
    },
    { put: '{ look: begin }', by: '{ look: »begn }', code: 'label.unknown', says: '"begn"' },
    { put: 'otherwise: 1', by: 'otherwise: »begn', code: 'label.unknown', says: '"begn"' },
    { put: 'start: begin', by: 'start: »begn', code: 'label.unknown', says: '"begn"' },
    {
      put: '  start',
      by: '  following: »lamp\n  start',
      code: 'output.twice',
      says: 'There is an output "lamp" already.',
      why: rename,
    },
    {
      put: '  start',
      by: '  following: »orders\n  start',
      code: 'output.twice',
      says: 'There is an output "orders" already.',
      why: rename,
    },
    {
      put: 'lamp\n',
      by: 'lamp »way\n',
      code: 'field.no-value',
      says: '"way" stands without a value.',
      why: 'write way=on.',
    },
    {
      put: 'lamp\n',
      by: 'lamp »target\n',
      code: 'field.no-value',
      says: '"target" stands without',
      why: 'write target=next.',
    },
    {
      put: 'lamp\n',
      by: 'lamp »way=of\n',
      code: 'code.unknown',
      says: '"of" is no code of "way"',
      why: 'Its codes are on, jump, by, away.',
    },
    {
      put: 'lamp\n',
      by: 'lamp »way=4\n',
      code: 'code.beyond',
      says: '4 does not fit "way".',
      why: '"way" is 2 bits wide and takes 0 to 3.',
    },
    {
      put: 'lamp\n',
      by: '»lamp=2\n',
      code: 'code.beyond',
      says: '2 does not fit',
      why: '"lamp" is 1 bit wide and takes 0 to 1.',
    },
    { put: 'lamp\n', by: 'lamp »lamp\n', code: 'code.two-of-one', says: '"lamp" and "lamp" stand in one row.' },
    {
      put: 'otherwise: 1',
      by: 'otherwise: »8',
      code: 'address.beyond',
      says: 'Address 8 is beyond the last one, 7.',
      why: 'The field "place" has 3 bits.',
    },
    {
      put: 'unused: way',
      by: 'unused: »origin 3 #',
      code: 'row.wrong',
      says: 'What unused addresses hold cannot be read as a row.',
    },
  ])('when $by stands for $put then $code is found there', (mistake) => inTheStore(byAddress, mistake));

  it('when a row has no one place to go to then the following address says which it has', () => {
    const said = (row: string) =>
      inspectMarked(byAddress.replace('  start', '  following: after\n  start').replace('begin: lamp', `begin: ${row}`))
        .findings.filter((f) => f.code === 'following.unclear')
        .map((f) => f.message);
    expect(said('lamp')).toEqual([]);
    expect(said('way=away')).toEqual([
      'place 0 (begin): this row goes to a place outside the store, so "after" has no value.',
    ]);
  });
});
