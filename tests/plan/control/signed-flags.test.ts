// Signed fields, and fields that lack some values, in both control stores: asked, shown and accepted with their sign.
import { describe, expect, it } from 'vitest';
import { addressOf, buildPlan, checkPlan, describeDifference, listPlan, readPlan } from '../../../src/plan/plan.js';

const lift = `plan: lift
fields:
  order: 1
  step: 2
  floor: { bits: 3, signed: true, values: -2..2 }
contents:
  kind: control-by-step
  opcode: order
  step: step
  flags: [floor]
  lines: { cage.up: {}, cage.down: {}, over: { steps: restart } }
  instructions:
    cellar:
      opcode: 0
      steps:
        - cases: [{ when: { floor: -2 }, do: over }, { do: cage.down over }]
    street:
      opcode: 1
      steps:
        - do: over
          cases: [{ when: { floor: -2..-1 }, do: cage.up }, { when: { floor: [1, 2] }, do: cage.down }]
  unused: { steps: restart }
roms:
  lift:
    chip: 28C16
    address: { order: A0, step: A1..A2, floor: A3..A5, low: A6..A10 }
    data: { cage.up: D0, cage.down: D1, over: D2, unused: D3..D7 }
`;

describe('a control store by step with a signed flag', () => {
  it('when it is built then conditions below 0 hold where the wires carry them', () => {
    const plan = readPlan(lift, 'lift.yaml');
    expect(checkPlan(plan)).toEqual([]);
    const { bytes, defined } = buildPlan(plan)[0]!.image;
    for (let floor = -2; floor <= 2; floor++) {
      const at = (order: number): number => bytes[order | ((floor & 7) << 3)]! & 7;
      expect([floor, at(0), at(1)]).toEqual([floor, floor === -2 ? 4 : 6, floor < 0 ? 5 : floor > 0 ? 6 : 4]);
    }
    // 3 and -4 never come: nothing is wanted there.
    expect([defined[3 << 3], defined[4 << 3]]).toEqual([0, 0]);
  });

  it('when it is listed, asked and compared then the sign is there', () => {
    const plan = readPlan(lift, 'lift.yaml');
    expect(listPlan(plan).map(({ when }) => when)).toContain('step 0, floor=-2');
    const [address] = addressOf(plan, plan.roms[0]!, ['order=street', 'step=0', 'floor=-1']);
    expect(address).toBe(1 | (7 << 3));
    expect(describeDifference(plan.roms[0]!, address!, 0b101, 0b111)).toContain(
      'street (order 1), step 0, floor=-1: "cage.down" should be off and is on.',
    );
    expect(() => readPlan(lift.replace('floor: -2 }, do', 'floor: -3 }, do'), 'lift.yaml')).toThrow(
      /-3 is no value of the field "floor", which is 3 bits wide and signed: -4 to 3, of which it has only -2 to 2/,
    );
  });
});

describe('a dispatch table by a signed field', () => {
  it('when its keys are below 0 then they lead from there and are listed so', () => {
    const text = `plan: heel
fields: { row: 1, heel: { bits: 2, signed: true } }
contents:
  kind: control-by-address
  address: row
  word: { lean: {} }
  dispatch: { first-row: { by: heel, to: { -2: left, -1..1: right } } }
  program: |
    left: lean
    right: lean=0
roms:
  rows: { chip: 28C16, address: { row: A0, low: A1..A10 }, data: { lean: D0, unused: D1..D7 } }
  first: { chip: 28C16, address: { heel: A0..A1, low: A2..A10 }, data: { first-row: D0, unused: D1..D7 } }
`;
    const plan = readPlan(text, 'heel.yaml');
    expect([...buildPlan(plan)[1]!.image.bytes.slice(0, 4)].map((byte) => byte & 1)).toEqual([1, 1, 0, 1]);
    expect(listPlan(plan).map(({ when, does }) => `${when}: ${does}`)).toContain('heel -2: left (0)');
  });
});
