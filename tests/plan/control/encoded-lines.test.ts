// Encoded lines in a control store by step: bytes against tables written here by hand, words, and every mistake.
import { describe, expect, it } from 'vitest';
import { addressOf, buildPlan, checkPlan, describeDifference, listPlan, readPlan } from '../../../src/plan/plan.js';
import { inspectMarked } from './planted.js';

const planOf = (contents: string, fields: string, roms: string): string => `
plan: encoded
fields: ${fields}
contents:
  kind: control-by-step
  opcode: order
  step: step
${contents}
roms:
${roms}
`;

/** Three sources on one bus, a dial of three bits, and steps that restart by a code. */
const pump = planOf(
  `  flags: [wet]
  buses: { pipe: {} }
  lines:
    source: { bits: 2, codes: { nobody: 0, well: { code: 2, drives: pipe }, tank: { code: 3, drives: pipe } } }
    order.take: { loads: pipe }
    dial: { bits: 3 }
    steps: { bits: 2, default: go, codes: { go: 1, over: { code: 0, steps: restart }, stay: { code: 2, steps: hold } } }
  first: [source=tank order.take]
  instructions:
    rest: { opcode: 0, steps: [steps=over] }
    fill:
      opcode: 1
      steps:
        - { do: dial=5, cases: [{ when: { wet: 1 }, do: steps=over }, { do: steps=stay }] }
    turn: { opcode: [2, 3], steps: [dial=0x3 source=well order.take, [dial=0b111, steps=over]] }
  unused: { opcodes: idle, steps: restart }`,
  '{ order: 2, step: 2, wet: 1 }',
  `  pump:
    chip: 28C16
    address: { order: [A0, A1], step: [A2, A3], wet: A4, low: A5..A10 }
    data: { source: [D1, D0], order.take: /D2, dial: [D3, D4, D5], steps: [/D6, D7] }`,
);

/** Worked out by hand from the words above: source, order.take, dial, steps as the decoders see them. */
function pumpWord(order: number, step: number, wet: number): readonly [number, number, number, number] {
  if (step === 0) return [3, 1, 0, 1];
  if (order === 1 && step === 1) return [0, 0, 5, wet === 1 ? 0 : 2];
  if (order >= 2 && step === 1) return [2, 1, 3, 1];
  if (order >= 2 && step === 2) return [0, 0, 7, 0];
  return [0, 0, 0, 0];
}

const pumpByte = ([source, take, dial, steps]: readonly [number, number, number, number]): number =>
  (source >> 1) |
  ((source & 1) << 1) |
  ((take ^ 1) << 2) |
  (dial << 3) |
  (((steps & 1) ^ 1) << 6) |
  ((steps >> 1) << 7);

/** A field over two chips, active low, whose codes count and load; one of its bits on each chip. */
const store = planOf(
  `  flags: [late, state]
  buses: { cord: { undriven: 1 } }
  lines:
    page: { bits: 2, active: low, codes: { stay: 0, on: { code: 1, counts: page }, back: { code: 3, counts: page, changes: late } } }
    take: { bits: 3, codes: { none: 0, ink: { code: 4, loads: cord }, lamp: { code: 5, loads: cord } } }
    over: { steps: restart }
  instructions:
    write:
      opcode: "0b-1"
      steps:
        - { do: page=on, cases: [{ when: { late: 1, state: 2..3 }, do: take=ink }, { when: { state: 0 }, do: take=lamp }] }
        - page=back take=5 over
    rest: { opcode: [0, 2], steps: [over] }`,
  '{ order: 2, step: 1, late: 1, state: 2 }',
  `  left:
    chip: 28C16
    address: { order: A0..A1, step: A2, late: A3, state: A4..A5, low: A6..A10 }
    data: { page.1: D0, take.0..1: [D7, D6], over: D1, unused: D2..D5 }
  right:
    chip: 28C16
    address: { state: [A1, A0], late: A2, step: A3, order: A10..A9, low: A4..A8 }
    data: { page.0: D4, take.2: /D0, unused: [D1..D3, D5..D7] }`,
);

function storeWord(order: number, step: number, late: number, state: number) {
  const writes = order === 1 || order === 3;
  if (!writes) return { page: 0, take: 0, over: step === 0 ? 1 : 0 };
  if (step === 1) return { page: 3, take: 5, over: 1 };
  return { page: 1, take: late === 1 && state >= 2 ? 4 : state === 0 ? 5 : 0, over: 0 };
}

/** Nothing but encoded fields, one of them the steps; many opcodes. */
const mill = planOf(
  `  lines:
    gear: { bits: 4, codes: { free: 0b0000, low: 0x9, high: 10 } }
    clock: { bits: 1, codes: { run: 0, over: { code: 1, steps: restart } } }
  first: [gear=low, gear=high]
  instructions:
    one: { opcode: 0..3, steps: [gear=low clock=over] }
    two: { opcode: [4, 6], steps: [gear=15, clock=over] }
  unused: { opcodes: two, steps: restart }`,
  '{ order: 3, step: 3 }',
  `  mill:
    chip: 28C16
    address: { order: A5..A7, step: A2..A0, low: [A3, A4, A8..A10] }
    data: { gear: D7..D4, clock: D2, unused: [D0, D1, D3] }`,
);

function millWord(order: number, step: number): readonly [gear: number, clock: number] {
  if (step < 2) return [step === 0 ? 9 : 10, 0];
  if (order < 4) return step === 2 ? [9, 1] : [0, 1];
  return step === 2 ? [15, 0] : [0, 1];
}

const built = (text: string) => buildPlan(readPlan(text, 'e.yaml')).map((rom) => rom.image);

describe('when a control store by step has encoded lines', () => {
  it('then the bytes are those of the table written by hand: a bus, a dial, steps by code', () => {
    const [image] = built(pump);
    for (let order = 0; order < 4; order++)
      for (let step = 0; step < 4; step++)
        for (let wet = 0; wet < 2; wet++) {
          const address = order | (step << 2) | (wet << 4);
          expect([address, image!.bytes[address]]).toEqual([address, pumpByte(pumpWord(order, step, wet))]);
        }
  });

  it('then a field may be split over two chips, each with the polarity of its pins', () => {
    const [left, right] = built(store);
    for (let order = 0; order < 4; order++)
      for (let step = 0; step < 2; step++)
        for (let late = 0; late < 2; late++)
          for (let state = 0; state < 4; state++) {
            const { page, take, over } = storeWord(order, step, late, state);
            const one = left!.bytes[order | (step << 2) | (late << 3) | (state << 4)]!;
            expect(one).toBe(
              0b00111100 | (1 - (page >> 1)) | (over << 1) | ((take & 1) << 7) | (((take >> 1) & 1) << 6),
            );
            const swapped = (n: number): number => (n >> 1) | ((n & 1) << 1);
            const two = right!.bytes[swapped(state) | (late << 2) | (step << 3) | (swapped(order) << 9)]!;
            expect(two).toBe(0b11101110 | ((1 - (page & 1)) << 4) | (1 - (take >> 2)));
          }
  });

  it('then opcodes, first steps and unused ones go as with plain lines', () => {
    const [image] = built(mill);
    for (let order = 0; order < 8; order++)
      for (let step = 0; step < 8; step++) {
        const [gear, clock] = millWord(order, step);
        const at = (order << 5) | ((step & 1) << 2) | (step & 2) | (step >> 2);
        const reversed = [0, 1, 2, 3].reduce((bits, bit) => bits | (((gear >> bit) & 1) << (7 - bit)), 0);
        expect(image!.bytes[at]).toBe(reversed | (clock << 2) | 0b1011);
      }
  });

  it('then codes have their names in list, look and differences', () => {
    const plan = readPlan(pump, 'e.yaml');
    const [rom] = plan.roms;
    const says = listPlan(plan).map(({ when, does }) => `${when}: ${does}`);
    expect(says).toContain('step 0: source=tank order.take');
    expect(says).toContain('step 1, wet=0: dial=5 steps=stay');
    const [address] = addressOf(plan, rom!, ['order=turn', 'step=1', 'wet=0']);
    const right = pumpByte(pumpWord(2, 1, 0));
    expect(describeDifference(rom!, address!, right, right ^ 2)).toBe(
      'turn (order 2), step 1, wet=0: source=well is wanted, source=tank is there.',
    );
    expect(describeDifference(rom!, address!, right, right ^ 1)).toBe(
      'turn (order 2), step 1, wet=0: source=well is wanted, source=nobody is there.\n' +
        '  So "order.take" loads from bus "pipe", which nobody drives.',
    );
    expect(describeDifference(rom!, address!, right, right ^ 0x40 ^ 4)).toBe(
      'turn (order 2), step 1, wet=0: "order.take" should be on and is off; steps=go is wanted, steps=over is there.\n' +
        '  So the instruction ends here.',
    );
  });

  it('then a chip that carries only some bits of a field still names its codes', () => {
    const plan = readPlan(store, 'e.yaml');
    const [address] = addressOf(plan, plan.roms[1]!, ['order=write', 'step=0', 'late=1', 'state=2']);
    const right = 0b11101110;
    expect(describeDifference(plan.roms[1]!, address!, right, right ^ 1)).toBe(
      'write (order 1), step 0, late=1 state=2: take=ink is wanted, take=none is there.',
    );
  });

  it('then two counts at once, two drivers and unknown buses are found behind codes too', () => {
    const twice = store.replace('over: { steps: restart }', 'over: { steps: restart, counts: page }');
    expect(checkPlan(readPlan(twice, 'e.yaml')).map((f) => f.code)).toContain('counter.twice');
    const second = pump.replace(
      'dial: { bits: 3 }',
      'dial: { bits: 3, codes: { off: 0, three: 3, five: { code: 5, drives: pipe }, seven: 7 } }',
    );
    const meet = second.replace('dial=0x3 source=well', 'dial=five source=well');
    expect(
      inspectMarked(meet)
        .findings.filter((f) => f.severity === 'error')
        .map((f) => f.message),
    ).toEqual(['"turn", step 1: "source=well" and "dial=five" drive bus "pipe" together.']);
  });
});

/** One change a row: a mark stands where the finding points. */
const mistakes: readonly (readonly [from: string, to: string, code: string, says: string])[] = [
  [
    'source=well order.take',
    'source=wall order.take',
    'code.unknown',
    '"wall" is no code of "source" (did you mean "well"?).',
  ],
  ['source=well order.take', 'source order.take', 'field.no-value', '"source" stands without a value.'],
  ['dial=0x3', 'dial=8', 'code.beyond', '8 does not fit "dial".'],
  ['dial=0x3', 'source=tank', 'code.two-of-one', '"source=tank" and "source=well" stand in one step.'],
  ['dial=5', 'dial=5 steps=go', 'code.two-of-one', '"steps=go" and "steps=over" stand in one step.'],
  [
    'well: { code: 2, ',
    'well: { code: »4, ',
    'code.beyond',
    'The code 4 of "well" does not fit "source", which is 2 bits wide.',
  ],
  ['tank: { code: 3, ', 'tank: »{ code: 2, ', 'code.twice', '"well" and "tank" of "source" are both code 2.'],
  ['nobody: 0, ', '', 'code.rest', 'Nothing says what "source" is in a step that does not name it.'],
  ['default: go, ', 'default: »gone, ', 'code.unknown', 'The default of "steps": "gone" is no code of "steps".'],
  [
    'dial: { bits: 3 }',
    'dial: { bits: 3, »drives: pipe }',
    'line.mixed',
    '"dial" is an encoded line, and "drives" does not say at which of its values.',
  ],
  [
    'well: { code: 2, drives: pipe }',
    'well: { code: 2, drives: »pip }',
    'bus.unknown',
    '"source=well" drives bus "pip", which "buses" does not name.',
  ],
  [
    'well: { code: 2, drives: pipe }',
    'well: { code: 2, drives: pipe, changes: »wat }',
    'flag.unknown',
    '"wat" is no flag of this control store (did you mean "wet"?).',
  ],
];

describe('when a mistake is planted in an encoded line', () => {
  it.each(mistakes)('and for "%s" stands "%s" then %s is said', (from, to, code, says) => {
    expect(pump).toContain(from);
    const { findings, marks } = inspectMarked(pump.replace(from, to));
    const said = findings.filter((f) => f.code === code);
    expect(said.map((f) => f.message)).toContain(says);
    expect(said[0]!.severity).toBe('error');
    expect(said[0]!.line).not.toBeNull();
    if (marks.length > 0 && code !== 'code.beyond') expect(`${said[0]!.line}:${said[0]!.column}`).toBe(marks[0]);
  });
});
