// Several contents side by side in one ROM: a display, and a lamp on the pin that its point leaves free.
import { describe, expect, it } from 'vitest';
import {
  addressOf,
  buildPlan,
  describeDifference,
  inspectPlan,
  listPlan,
  lookAt,
  readPlan,
  romOf,
} from '../../src/plan/plan.js';
import { circuitOfPlan } from '../../src/suspect/plan-circuit.js';

const lamp =
  '{ kind: truth-table, outputs: [frost], rows: [{ when: { cold: -16..0, on: 1 }, give: { frost: 1 } }], default: { frost: 0 } }';
const text = (second = lamp, point = 'frost: /D7'): string => `plan: frost
fields: { cold: { bits: 5, signed: true }, place: 1, on: 1 }
contents:
  - { kind: decimal-display, value: cold, place: place, common: anode, overflow: dashes }
  - ${second}
roms:
  two: { chip: 28C16, address: { cold: A0..A4, place: A5, on: A6, low: A7..A10 }, data: { a: D0, b: D1, c: D2, d: D3, e: D4, f: D5, g: D6, ${point} } }
`;
const plan = readPlan(text(), 'frost.yaml');
const rom = romOf(plan);
const { image } = buildPlan(plan)[0]!;
const found = (written: string): string[] =>
  inspectPlan(written, 'frost.yaml').findings.map((f) => `${f.line}:${f.column} ${f.code}: ${f.message}`);

describe('a list of contents', () => {
  it('when an image is built then every byte carries both, each with its polarity', () => {
    for (let cold = -16; cold <= 15; cold++)
      for (const on of [0, 1]) {
        const address = (cold & 31) | (1 << 5) | (on << 6);
        // Low on D7 where it freezes and is on; the display alone says what the others are.
        expect(image.bytes[address]! >> 7, `${cold} ${on}`).toBe(cold <= 0 && on === 1 ? 0 : 1);
      }
    // 7 lights a, b and c, low on their pins.
    expect(image.bytes[7 | (1 << 5)]! & 0x7f).toBe(0x7f & ~0b0000111);
  });

  it('when the plan is checked then nothing is wrong: the point is never lit, and needs no pin', () => {
    expect(found(text())).toEqual([]);
  });

  it('when an address is looked at then both are told, and the display is drawn', () => {
    const [address] = addressOf(plan, rom, ['cold=-7', 'on=1', 'place=1']);
    const look = lookAt(plan, rom, address!);
    expect(look.meaning).toContain('the display reads "-7", this place shows "7" (abc)');
    expect(look.meaning).toMatch(/cold -7 \(0x19\), on 1: frost/);
    expect(look.display?.text).toBe('-7');
  });

  it('when a byte differs then what differs is told, and nothing else', () => {
    const [address] = addressOf(plan, rom, ['cold=-7', 'on=1', 'place=1']);
    const wanted = image.bytes[address!]!;
    expect(describeDifference(rom, address!, wanted, wanted ^ 0x80)).toMatch(/frost is off and should be on$/);
    expect(describeDifference(rom, address!, wanted, wanted ^ 1)).toMatch(/a dark and should be lit/);
    expect(describeDifference(rom, address!, wanted, wanted ^ 1)).not.toContain('frost');
  });

  it('when it is listed then each stands under its kind', () => {
    const rows = listPlan(plan);
    expect(rows.filter((row) => row.level === 0).map((row) => row.when)).toEqual(['decimal-display', 'truth-table']);
    expect(rows[1]).toEqual({ level: 1, when: 'cold -16 (0x10)', does: '"--"' });
    expect(rows.at(-2)).toEqual({ level: 1, when: 'cold -16..0; on 1', does: 'frost 1' });
  });

  it('when the bench is asked then the display is what a person sees', () => {
    const circuit = circuitOfPlan(plan, rom, image);
    expect(circuit.shows).toMatchObject({ kind: 'digits', count: 2, hasPoint: false });
    expect(circuit.questions.map((q) => q.words)).toContain('cold=-7 on=1');
  });

  it('when two of them tell one output, or one has a mistake, then that is told at its place', () => {
    const twice = lamp.replaceAll('frost', 'a');
    expect(found(text(twice, 'unused: D7'))).toEqual([
      '5:5 contents.output: The output "a" is told twice, by contents 1 and 2 of this list.',
    ]);
    expect(found(text(lamp.replace('-16..0', '-17..0'))).join()).toMatch(
      /5:\d+ field\.value: "-17\.\.0" is no value of cold/,
    );
    expect(found(text('{ kind: truthtable }')).join()).toContain(
      '5:13 contents.kind: There is no kind of contents "truthtable".',
    );
    expect(found(text().replace(/contents:\n.*\n.*\n/, 'contents: []\n')).join()).toContain('This list has 0.');
  });
});
