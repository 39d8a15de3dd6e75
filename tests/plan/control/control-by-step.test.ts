// A control store by step as a table: cells, and the builder's words for cells, differences and lists.
import { beforeEach, describe, expect, it } from 'vitest';
import type { Table } from '../../../src/plan/table.js';
import { compiled, compiledMaybe, fieldsOf } from './compiled.js';

const fields = fieldsOf({
  order: { bits: 2, names: { 1: 'look' } },
  step: 3,
  dark: { bits: 1, names: { 0: 'day', 1: 'night' } },
  wind: 2,
});

const plan = `
kind: control-by-step
opcode: order
step: step
flags: [dark, wind]
buses: { rail: {} }
lines:
  orders.show: { drives: rail, active: low }
  order.take: { loads: rail }
  vane.show: { drives: rail }
  display.take: { loads: rail }
  display.light: {}
  steps.restart: { steps: restart }
first:
  - orders.show order.take
instructions:
  look:
    opcode: look
    steps:
      - do: vane.show
        cases:
          - { when: { wind: 2..3, dark: night }, do: display.take display.light }
          - { when: { wind: [0, 3] }, do: [] }
          - { do: display.take }
      - { when: { dark: day }, do: steps.restart }
      - steps.restart
  listen:
    opcode: "0b1-"
    steps: [[], steps.restart]
unused: { opcodes: undefined, steps: restart }
`;

let table: Table;
let lines: readonly string[];
beforeEach(() => {
  table = compiled(plan, fields).table;
  lines = [...table.outputs.keys()];
});
const on = (...inputs: number[]): string =>
  table
    .at(inputs)
    .map((value, i) => (value === undefined ? '?' : value === 1 ? lines[i] : ''))
    .filter((name) => name !== '')
    .join(' ');

describe('when a control store by step is compiled', () => {
  it('then its inputs are opcode, step and flags, and its outputs the lines', () => {
    expect([...table.inputs]).toEqual([
      ['order', 2],
      ['step', 3],
      ['dark', 1],
      ['wind', 2],
    ]);
    expect([...table.outputs.values()]).toEqual([1, 1, 1, 1, 1, 1]);
    expect([...table.activeLow]).toEqual(['orders.show']);
  });

  it('then the common first steps stand before every opcode, used or not', () => {
    for (const order of [0, 1, 2, 3]) expect(on(order, 0, 1, 2)).toBe('orders.show order.take');
  });

  // All eight settings of the flags, worked out by hand from the three cases.
  it.each([
    [0, 0, 'vane.show'],
    [0, 1, 'vane.show display.take'],
    [0, 2, 'vane.show display.take'],
    [0, 3, 'vane.show'],
    [1, 0, 'vane.show'],
    [1, 1, 'vane.show display.take'],
    [1, 2, 'vane.show display.take display.light'],
    [1, 3, 'vane.show display.take display.light'],
  ])('then with dark=%i and wind=%i the first case that holds is taken: %s', (dark, wind, wanted) => {
    expect(on(1, 1, dark, wind)).toBe(wanted);
  });

  it('then a step with a condition does nothing where it does not hold', () => {
    expect([on(1, 2, 0, 0), on(1, 2, 1, 0)]).toEqual(['steps.restart', '']);
  });

  it("then an opcode with a don't care is two opcodes", () => {
    expect([on(2, 2, 0, 0), on(3, 2, 0, 0)]).toEqual(['steps.restart', 'steps.restart']);
  });

  it('then unused steps and unused opcodes hold what the plan says', () => {
    expect(on(1, 7, 0, 0)).toBe('steps.restart');
    expect(table.at([0, 1, 0, 0])).toEqual(lines.map(() => undefined));
  });

  it('then unused opcodes can do what an instruction does', () => {
    const like = compiled(plan.replace('opcodes: undefined', 'opcodes: listen'), fields).table;
    for (let step = 0; step < 8; step++) expect(like.at([0, step, 0, 0])).toEqual(like.at([2, step, 0, 0]));
    expect(like.list().slice(-2)).toEqual([
      { level: 0, when: 'no instruction (order 0)', does: '' },
      { level: 1, when: 'step 1 and on', does: 'like "listen"' },
    ]);
  });

  it('then steps that nobody wrote can be left to whatever is there', () => {
    const free = compiled(plan.replace('undefined, steps: restart', 'idle, steps: undefined'), fields);
    expect(free.table.at([1, 7, 0, 0])).toEqual(lines.map(() => undefined));
    expect(free.table.explain([1, 7, 0, 0])).toBe(
      'look (order look), step 7, which is not used, dark=day wind=0: anything',
    );
  });

  it('then the line that restarts can be the first of all', () => {
    const yaml = plan
      .replace('  steps.restart: { steps: restart }\n', '')
      .replace('lines:\n', 'lines:\n  steps.restart: { steps: restart }\n');
    const { table: first, findings } = compiled(yaml, fields);
    expect(first.at([1, 7, 0, 0])).toEqual([1, 0, 0, 0, 0, 0]);
    expect(findings.filter((f) => f.code === 'line.no-restart')).toEqual([]);
    const unsaid = compiled(yaml.replace('opcodes: undefined, ', ''), fields);
    expect(unsaid.findings.map((f) => f.message)).toContain(
      '1 of 4 opcodes belong to no instruction and are left to: restart.',
    );
    expect(unsaid.table.at([0, 1, 0, 0])).toEqual([1, 0, 0, 0, 0, 0]);
  });

  it('then an opcode that two instructions claim stays with the first', () => {
    const twice = compiled(plan.replace('"0b1-"', '[1, 2]'), fields).table;
    expect(twice.explain([1, 3, 0, 0])).toBe('look (order look), step 3, dark=day wind=0: steps.restart');
    expect(twice.explain([2, 2, 0, 0])).toBe('listen (order 2), step 2, dark=day wind=0: steps.restart');
  });

  it('then names of lines stand apart by spaces, commas or both, or in a list', () => {
    for (const written of ['" display.take ,  vane.show "', '"display.take,vane.show"', '[vane.show, display.take]']) {
      const { table: same, findings } = compiled(
        plan.replace('do: display.take display.light', `do: ${written}`),
        fields,
      );
      expect(same.explain([1, 1, 1, 2])).toBe('look (order look), step 1, dark=night wind=2: vane.show display.take');
      expect(findings.filter((f) => f.code === 'line.unknown')).toEqual([]);
    }
  });
});

describe('when a cell is explained', () => {
  it.each([
    [[1, 1, 1, 2], 'look (order look), step 1, dark=night wind=2: vane.show display.take display.light'],
    [[2, 0, 0, 0], 'listen (order 2), step 0, as in every instruction, dark=day wind=0: orders.show order.take'],
    [[2, 1, 0, 0], 'listen (order 2), step 1, dark=day wind=0: nothing'],
    [[1, 5, 0, 1], 'look (order look), step 5, which is not used, dark=day wind=1: steps.restart'],
    [[0, 3, 0, 0], 'no instruction (order 0), step 3, which is not used, dark=day wind=0: anything'],
  ])("then %j is said in the builder's words", (inputs, words) => {
    expect(table.explain(inputs)).toBe(words);
  });
});

describe('when a cell differs', () => {
  const difference = (
    inputs: readonly number[],
    change: Record<string, number>,
    unread: readonly string[] = [],
  ): string => {
    const right = table.at(inputs);
    const seen = lines.map((name, i) => change[name] ?? right[i]);
    const hidden = (values: readonly (number | undefined)[]) =>
      values.map((v, i) => (unread.includes(lines[i]!) ? undefined : v));
    return table.explainDifference!(inputs, hidden(right), hidden(seen));
  };
  const where = 'look (order look), step 1, dark=night wind=2';

  it('then the lines that differ are named', () => {
    expect(difference([1, 1, 1, 2], { 'display.light': 0 })).toBe(`${where}: "display.light" should be on and is off.`);
  });

  it('then a second driver on the bus is said', () => {
    expect(difference([1, 1, 1, 2], { 'orders.show': 1 })).toBe(
      `${where}: "orders.show" should be off and is on.\n  So "orders.show" and "vane.show" drive bus "rail" together.`,
    );
  });

  it('then a driver that is missing is said', () => {
    expect(difference([1, 1, 1, 2], { 'vane.show': 0 })).toBe(
      `${where}: "vane.show" should be on and is off.\n  So "display.take" loads from bus "rail", which nobody drives.`,
    );
  });

  it('then a false end is said', () => {
    expect(difference([1, 1, 1, 2], { 'steps.restart': 1, 'display.light': 0 })).toBe(
      `${where}: "display.light" should be on and is off; "steps.restart" should be off and is on.\n  So the instruction ends here.`,
    );
  });

  it('then lines on another chip are taken to be right', () => {
    expect(difference([1, 1, 1, 2], { 'display.light': 0 }, ['vane.show', 'orders.show'])).toBe(
      `${where}: "display.light" should be on and is off.`,
    );
  });
});

describe('when only one of the two values of a line is known', () => {
  it.each([
    ['wanted', [undefined], [1]],
    ['read', [1], [undefined]],
  ])('then a line of which none is %s does not differ', (_, wanted, actual) => {
    const rest = lines.slice(1).map(() => 0);
    const said = table.explainDifference!(
      [2, 1, 0, 0],
      [...wanted, 0, 0, 0, 0, 0],
      [...actual, ...rest.slice(0, 3), 1, 0],
    );
    expect(said).toBe('listen (order 2), step 1, dark=day wind=0: "display.light" should be off and is on.');
  });
});

describe('when the plan itself loads from a bus that nobody drives', () => {
  it('then a difference elsewhere in the cell does not bring it up', () => {
    const yaml = plan.replace('do: vane.show\n        cases', 'do: order.take\n        cases');
    const { explainDifference, at } = compiled(yaml, fields).table;
    const right = at([1, 1, 0, 0]);
    const seen = right.map((value, i) => (lines[i] === 'display.light' ? 1 : value));
    expect(explainDifference!([1, 1, 0, 0], right, seen)).toBe(
      'look (order look), step 1, dark=day wind=0: "display.light" should be off and is on.',
    );
  });
});

describe('when a control store has no lines yet', () => {
  it('then a cell is told to do nothing, not anything', () => {
    const yaml =
      'kind: control-by-step\nopcode: order\nstep: step\nlines: {}\ninstructions: { rest: { opcode: 0, steps: [[]] } }';
    expect(compiled(yaml, fields).table.explain([0, 0])).toBe('rest (order 0), step 0: nothing');
  });
});

describe('when several lines of a cell differ', () => {
  it('then they are named in one sentence, and what the plan has of bus faults itself is not told again', () => {
    const wanted = lines.map((name) => Number(['vane.show', 'display.take', 'display.light'].includes(name)));
    const actual = lines.map((name) => Number(['steps.restart', 'order.take'].includes(name)));
    expect(table.explainDifference!([1, 1, 1, 2], wanted, actual).split('\n')).toEqual([
      'look (order look), step 1, dark=night wind=2: "vane.show", "display.take", "display.light" should be on and are off; "order.take", "steps.restart" should be off and are on.',
      '  So "order.take" loads from bus "rail", which nobody drives.',
      '  So the instruction ends here.',
    ]);
  });
});

describe('when a control store has no flags, no common steps and an instruction without steps', () => {
  const bare = `
kind: control-by-step
opcode: order
step: step
lines: { lamp: {}, bell: {}, steps.restart: { steps: restart } }
instructions:
  rest: { opcode: [3, 1], steps: [] }
  ring: { opcode: 0, steps: [bell lamp, steps.restart] }
  wait: { opcode: 2, steps: [steps.restart] }
unused: { opcodes: idle }
`;
  let small: Table;
  beforeEach(() => {
    small = compiled(bare, fieldsOf({ order: 2, step: 2 })).table;
  });

  it('then the listing begins with the first instruction, says that one does nothing, and ends with the last', () => {
    const rows = small
      .list()
      .map(({ level, when, does }) => `${'  '.repeat(level)}${when}${does === '' ? '' : `: ${does}`}`);
    expect(rows).toEqual([
      'rest (order 1, 3)',
      '  no steps of its own: nothing',
      'ring (order 0)',
      '  step 0: lamp bell',
      '  step 1: steps.restart',
      'wait (order 2)',
      '  step 0: steps.restart',
    ]);
  });

  it('then a cell is told without flags, and the first step behind the last one written as not used', () => {
    expect(small.explain([0, 0])).toBe('ring (order 0), step 0: lamp bell');
    expect(small.explain([0, 2])).toBe('ring (order 0), step 2, which is not used: nothing');
  });
});

describe('when a control store by step is listed', () => {
  it('then the common steps stand once and conditions only where they matter', () => {
    const rows = table
      .list()
      .map((row) => `${'  '.repeat(row.level)}${row.when}${row.does === '' ? '' : `: ${row.does}`}`);
    expect(rows).toEqual([
      'every instruction',
      '  step 0: orders.show order.take',
      'look (order 1)',
      '  step 1, dark=day wind=0: vane.show',
      '  step 1, dark=day wind=3: vane.show',
      '  step 1, dark=night wind=0: vane.show',
      '  step 1, dark=day wind=1: vane.show display.take',
      '  step 1, dark=day wind=2: vane.show display.take',
      '  step 1, dark=night wind=1: vane.show display.take',
      '  step 1, dark=night wind=2: vane.show display.take display.light',
      '  step 1, dark=night wind=3: vane.show display.take display.light',
      '  step 2, dark=day: steps.restart',
      '  step 2, dark=night: nothing',
      '  step 3: steps.restart',
      'listen (order 2..3)',
      '  step 1: nothing',
      '  step 2: steps.restart',
      'no instruction (order 0)',
      '  step 1 and on: anything',
    ]);
  });
});

describe('when the fields of a control store cannot be found', () => {
  it.each([
    ['opcode: order', 'opcode: odrer', 'field.unknown', 'There is no field "odrer" (did you mean "order"?).'],
    ['flags: [dark, wind]', 'flags: [dark, step]', 'field.twice', 'The field "step" is used twice.'],
  ])('and %s reads %s then there is no table, and the reason', (before, after, code, message) => {
    const { table: none, findings } = compiledMaybe(plan.replace(before, after), fields);
    expect(none).toBe(null);
    expect(findings).toMatchObject([{ code, message, severity: 'error' }]);
  });
});
