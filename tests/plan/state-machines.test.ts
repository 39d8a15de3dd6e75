// Outputs with names, signs, and fields that they feed: tables that go in a circle, against machines written here by hand.
import { describe, expect, it } from 'vitest';
import { meaningOf } from '../../src/plan/look.js';
import {
  addressOf,
  buildPlan,
  checkPlan,
  describeDifference,
  listPlan,
  type Plan,
  planOfObject,
  readPlan,
} from '../../src/plan/plan.js';
import { inspected, planted } from './planted.js';

/** A ferry's gate: three states of two bits, a tide that is signed, and how far the ramp moves. */
const ferry = `plan: ferry
fields:
  state: { bits: 2, names: { away: 0, near: 1, moored: 2 }, values: [away, near, moored] }
  bell: 1
  tide: { bits: 3, signed: true }
contents:
  kind: truth-table
  outputs:
    next: { feeds: state }
    ramp: { bits: 3, signed: true }
    gate: { bits: 1, names: { shut: 0, open: 1 } }
  rows:
    - { when: { state: away, bell: 0 }, give: { next: away } }
    - { when: { state: away, bell: 1 }, give: { next: near } }
    - { when: { state: near }, give: { next: moored } }
    - { when: { state: moored, bell: 0 }, give: { next: moored } }
    - { when: { state: moored, bell: 1 }, give: { next: away } }
    - { when: { state: moored, tide: -4..-1 }, give: { ramp: 2, gate: open } }
    - { when: { state: moored, tide: 0 }, give: { ramp: 0, gate: open } }
    - { when: { state: moored, tide: 1..3 }, give: { ramp: -2, gate: open } }
    - { when: { state: [away, near] }, give: { ramp: -4, gate: shut } }
roms:
  gate:
    chip: 28C16
    address: { state: [A5, A3], bell: A0, tide: [A1, A2, A4], low: A6..A10 }
    data: { next: [D0, D1], ramp: [D4, D3, D2], gate: /D7, unused: [D5, D6] }
`;

/** The ferry as a person would write it, apart from the plan. */
function ferryStep(state: number, bell: number, tide: number) {
  const next = state === 0 ? (bell === 1 ? 1 : 0) : state === 1 ? 2 : bell === 1 ? 0 : 2;
  const ramp = state !== 2 ? -4 : tide < 0 ? 2 : tide === 0 ? 0 : -2;
  return { next, ramp, gate: state === 2 ? 1 : 0 };
}

/** Reads the ROM as wired: state and tide onto the pins, outputs off them. */
function romStep(bytes: Uint8Array, state: number, bell: number, tide: number) {
  const bits = tide & 7;
  const address =
    ((state & 1) << 5) | ((state >> 1) << 3) | bell | ((bits & 1) << 1) | (((bits >> 1) & 1) << 2) | ((bits >> 2) << 4);
  const byte = bytes[address]!;
  const bit = (pin: number): number => (byte >> pin) & 1;
  const ramp = bit(4) | (bit(3) << 1) | (bit(2) << 2);
  return { next: bit(0) | (bit(1) << 1), ramp: ramp > 3 ? ramp - 8 : ramp, gate: 1 - bit(7) };
}

const planOf = (text: string): Plan => readPlan(text, 'ferry.yaml');

describe('a state machine as a table', () => {
  it('when it is built then every cell is what the machine written by hand does', () => {
    const [rom] = buildPlan(planOf(ferry));
    for (let state = 0; state < 3; state++)
      for (let bell = 0; bell < 2; bell++)
        for (let tide = -4; tide < 4; tide++)
          expect([state, bell, tide, romStep(rom!.image.bytes, state, bell, tide)]).toEqual([
            ...[state, bell, tide],
            ferryStep(state, bell, tide),
          ]);
  });

  it('when it runs from the image then it goes round its states', () => {
    const [rom] = buildPlan(planOf(ferry));
    const states: number[] = [];
    for (let clock = 0, state = 0; clock < 7; clock++) {
      states.push(state);
      state = romStep(rom!.image.bytes, state, clock === 1 || clock === 5 ? 1 : 0, 0).next;
    }
    expect(states).toEqual([0, 0, 1, 2, 2, 2, 0]);
  });

  it('when a state is never had then nothing is wanted there, asked there or missed there', () => {
    const plan = planOf(ferry);
    expect(checkPlan(plan)).toEqual([]);
    const { defined } = buildPlan(plan)[0]!.image;
    expect(defined[(1 << 5) | (1 << 3)]).toBe(0);
    expect(addressOf(plan, plan.roms[0]!, ['bell=0', 'tide=0'])).toHaveLength(3);
  });

  it('when it is listed, looked at and compared then values have their names and signs', () => {
    const plan = planOf(ferry);
    expect(listPlan(plan)[5]).toMatchObject({ when: 'state moored; tide -4..-1', does: 'ramp 2, gate open' });
    const [address] = addressOf(plan, plan.roms[0]!, ['state=moored', 'bell=1', 'tide=2']);
    expect(meaningOf(plan.roms[0]!, address!)).toContain('tide 2: next away, ramp -2 (0x6), gate open');
    const byte = buildPlan(plan)[0]!.image.bytes[address!]!;
    expect(describeDifference(plan.roms[0]!, address!, byte, byte ^ 0x82)).toContain(
      'next is moored and should be away; gate is shut and should be open',
    );
  });

  it.each([
    [
      'give: { next: moored } }',
      'give: { next: <<output.value>>mored } }',
      /"mored" is no value of next/,
      /one of away, near, moored/,
    ],
    ['give: { next: moored } }', 'give: { next: <<output.value>>3 } }', /"3" is no value of next/, /only 0 to 2/],
    ['ramp: -4', 'ramp: <<output.value>>-5', /"-5" is no value of ramp/, /3 bits wide and signed: -4 to 3/],
    ['feeds: state', 'feeds: <<field.unknown>>stat', /no field "stat"/, /Did you mean "state"/],
    [
      'names: { shut: 0, open: 1 }',
      'names: { shut: 0, open: <<field.value>>2 }',
      /2 \("open"\) is no value of gate/,
      /1 bit wide: 0 to 1/,
    ],
  ])('when for %s stands %s then it is said at its place', (from, to, message, why) => {
    const { text, expected } = planted(ferry.replace(from, to));
    const { found, findings } = inspected(text);
    expect(found.filter((f) => expected.includes(f))).toEqual(expected);
    const said = findings.find((f) => expected.includes(`${f.line}:${f.column} ${f.code}`))!;
    expect(said.message).toMatch(message);
    expect(said.why).toMatch(why);
  });
});

describe('a table as a function', () => {
  const module = (at: unknown, trim: unknown = { bits: 4, signed: true }) => ({
    plan: 'trim',
    fields: { heel: { bits: 4, signed: true, values: '-5..5' }, state: { bits: 1, names: { calm: 0, rough: 1 } } },
    contents: { kind: 'function', outputs: { trim, next: { feeds: 'state' } }, at },
    roms: {
      trim: {
        chip: '28C16',
        address: { heel: 'A0..A3', state: 'A4', low: 'A5..A10' },
        data: { trim: 'D0..D3', next: 'D4', unused: 'D5..D7' },
      },
    },
  });

  it('when a field is signed then the function gets and gives numbers below 0, and names', () => {
    const seen = new Set<number>();
    const at = ({ heel }: { heel: number }) => {
      seen.add(heel);
      return { trim: -heel, next: Math.abs(heel) > 2 ? 'rough' : 'calm' };
    };
    const plan = planOfObject(module(at), 'trim.js');
    expect([...seen].sort((a, b) => a - b)).toEqual([-5, -4, -3, -2, -1, 0, 1, 2, 3, 4, 5]);
    const { bytes, defined } = buildPlan(plan)[0]!.image;
    for (let heel = -5; heel <= 5; heel++)
      expect(bytes[heel & 15]! & 0x1f).toBe((-heel & 15) | (Math.abs(heel) > 2 ? 16 : 0));
    expect(defined[6]).toBe(0);
  });

  it('when it gives what an output does not take then both ends of the range are said', () => {
    const wrong = module(() => ({ trim: -9, next: 0 }));
    expect(() => planOfObject(wrong, 'trim.js')).toThrow(/gives trim -9/);
    expect(() => planOfObject(wrong, 'trim.js')).toThrow(
      expect.objectContaining({
        errors: [expect.objectContaining({ note: expect.stringContaining('trim -8 to 7, next 0 to 1') })],
      }),
    );
    expect(() =>
      planOfObject(
        module(() => ({ next: 'ruff' })),
        'trim.js',
      ),
    ).toThrow(/gives next ruff/);
  });
});

describe('rows of a truth table', () => {
  it('when a row contradicts another then it is not said that it adds nothing', () => {
    const text = ferry.replace(
      '{ when: { state: moored, tide: 0 }, give: { ramp: 0, gate: open } }',
      '{ when: { state: near }, give: { next: away } }',
    );
    const codes = inspected(text).findings.map((f) => f.code);
    expect(codes).toContain('row.overlap');
    expect(codes).not.toContain('row.never');
    const idle = ferry.replace('    - { when: { state: near }, give: { next: moored } }\n', (row) => row + row);
    expect(inspected(idle).findings.map((f) => f.code)).toEqual(['row.never']);
  });
});
