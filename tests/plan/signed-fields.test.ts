// Fields with a sign, and fields that never have some of their values: in rows, lists, looks, questions, and in the image.
import { describe, expect, it } from 'vitest';
import {
  addressOf,
  buildPlan,
  inspectPlan,
  listPlan,
  lookAt,
  planOfObject,
  readPlan,
  romOf,
  sayLooks,
} from '../../src/plan/plan.js';
import { answer, startSession, verdict } from '../../src/suspect/bench-session.js';
import { readObservations } from '../../src/suspect/observation-file.js';
import { circuitOfPlan } from '../../src/suspect/plan-circuit.js';

const rows = [
  '{ when: { floor: -2..-1 }, give: { zone: 1 } }',
  '{ when: { floor: ground }, give: { zone: 2 } }',
  '{ when: { floor: [1..6, 7] }, give: { zone: 4 } }',
];
const text = (
  field = '{ bits: 4, signed: true, values: -2..7, names: { ground: 0, boathouse: -2 } }',
  more = rows,
): string =>
  `plan: tower
fields: { floor: ${field} }
contents:
  kind: truth-table
  outputs: { zone: 3 }
  rows:
${more.map((row) => `    - ${row}`).join('\n')}
roms:
  lift: { chip: 28C16, address: { floor: [A2, A0, A3, A1], low: A4..A10 }, data: { zone: D0..D2, unused: D3..D7 } }
`;
const plan = readPlan(text(), 'tower.yaml');
const rom = romOf(plan);
const { image } = buildPlan(plan)[0]!;

/** The address of a floor, worked out from the pin list by hand. */
const addressOfFloor = (floor: number): number =>
  [2, 0, 3, 1].reduce(
    (address, pin, bit) => address | (Number((BigInt.asUintN(4, BigInt(floor)) >> BigInt(bit)) & 1n) << pin),
    0,
  );
const found = (field: string, more = rows): string[] =>
  inspectPlan(text(field, more), 'tower.yaml').findings.map(
    (f) => `${f.line}:${f.column} ${f.code}: ${f.message} ${f.why}`,
  );

describe('a field with a sign', () => {
  it('when rows name floors below 0 then their bits are two-complement, as the language has it', () => {
    for (let floor = -2; floor <= 7; floor++)
      expect(image.bytes[addressOfFloor(floor)]! & 7, String(floor)).toBe(floor < 0 ? 1 : floor === 0 ? 2 : 4);
  });

  it('when a setting is typed then a negative number, a name, a range and the bits themselves are taken', () => {
    const addresses = (value: string): readonly number[] => addressOf(plan, rom, [`floor=${value}`]);
    expect(addresses('-1')).toEqual([addressOfFloor(-1)]);
    expect(addresses('boathouse')).toEqual([addressOfFloor(-2)]);
    expect(addresses('-2..1')).toEqual([-2, -1, 0, 1].map(addressOfFloor));
    expect(addresses('0xF')).toEqual([addressOfFloor(-1)]);
    expect(addresses('0b111-')).toEqual([-2, -1].map(addressOfFloor));
    expect(addressOf(plan, rom, [])).toEqual(Array.from({ length: 10 }, (_, i) => addressOfFloor(i - 2)));
  });

  it('when an address is shown then the number has its sign, and its bits beside it', () => {
    const said = sayLooks(lookAt(plan, rom, addressOfFloor(-1)));
    expect(said).toContain('floor -1 (0xF)');
    expect(lookAt(plan, rom, addressOfFloor(-1)).fields).toEqual([
      { name: 'floor', value: 15, said: 'floor -1 (0xF)' },
    ]);
  });

  it('when the plan is listed then rows stand as written', () => {
    expect(listPlan(plan).map((row) => row.when)).toContain('floor -2..-1');
  });

  it('when the bench is asked then questions and a file of answers speak with the sign', () => {
    const circuit = circuitOfPlan(plan, rom, image);
    expect(circuit.questions.map((q) => q.words)).toEqual([
      'floor=boathouse',
      'floor=-1',
      'floor=ground',
      ...[1, 2, 3, 4, 5, 6, 7].map((n) => `floor=${n}`),
    ]);
    const session = readObservations(startSession(circuit), 'floor=-1: zone.0\nfloor=0xE: zone.0\n', 'seen.txt');
    expect(session.answered.map((a) => a.question.words)).toEqual(['floor=-1', 'floor=boathouse']);
    expect(verdict(answer(session, circuit.questions[4]!, 'zone.2')).healthyAgrees).toBe(true);
    expect(() => readObservations(startSession(circuit), 'floor=-3: none\n', 'seen.txt')).toThrow(
      /"-3" is no value of floor/,
    );
  });

  it('when a number does not fit then the range with its sign is said', () => {
    const range = 'It is 4 bits wide and signed: -8 to 7';
    expect(found('{ bits: 4, signed: true }', ['{ when: { floor: 8 }, give: { zone: 1 } }']).join()).toContain(
      `"8" is no value of floor. ${range}; a range 3..5`,
    );
    expect(found('{ bits: 4, signed: true, names: { attic: 8, cellar: -9 } }').join()).toMatch(
      /8 \("attic"\) is no value of floor.*-9 \("cellar"\) is no value of floor/,
    );
    expect(() => addressOf(plan, rom, ['floor=-9'])).toThrow('"-9" is no value of floor.');
  });
});

describe('values that a field never has', () => {
  it('when an image is built then nothing is wanted there, and what fill says stands there', () => {
    const defined = [...image.defined.keys()].filter((address) => image.defined[address] === 1);
    expect(defined).toEqual(Array.from({ length: 10 }, (_, i) => addressOfFloor(i - 2)).sort((a, b) => a - b));
    const filled = buildPlan(readPlan(`${text()}fill: 0x5A\n`, 'tower.yaml'))[0]!.image;
    expect(filled.bytes[addressOfFloor(-3)]).toBe(0x5a);
  });

  it('when no row names them then no hole is told, and without `values` one is', () => {
    expect(found('{ bits: 4, signed: true, values: -2..7, names: { ground: 0 } }')).toEqual([]);
    expect(found('{ bits: 4, signed: true, names: { ground: 0 } }').join()).toContain('row.hole');
  });

  it('when such an address is looked at then the reason is said', () => {
    expect(lookAt(plan, rom, addressOfFloor(-3))).toMatchObject({
      reachable: false,
      byte: null,
      meaning: 'never read: the plan says that the circuit never has floor -3 (0xD)',
    });
  });

  it('when a row, a name, a setting or the field itself names one then that is told', () => {
    const only = 'It is 4 bits wide and signed: -8 to 7, of which it has only -2 to 7';
    expect(
      found('{ bits: 4, signed: true, values: -2..7 }', ['{ when: { floor: -3 }, give: { zone: 1 } }'])[0],
    ).toContain(`"-3" is no value of floor. ${only};`);
    expect(found('{ bits: 4, signed: true, values: -2..7, names: { ground: 0, attic: -4 } }')[0]).toContain(
      `-4 ("attic") is no value of floor. ${only}.`,
    );
    expect(found('{ bits: 4, signed: true, values: [-2..3, 5, 8] }')[0]).toContain(
      '2:51 field.value: "8" is no value of floor. It is 4 bits wide and signed: -8 to 7, or a range such as 2..5.',
    );
    expect(found('{ bits: 4, values: [0..3, 5] }', ['{ when: { floor: 4 }, give: { zone: 1 } }'])[0]).toContain(
      'It is 4 bits wide: 0 to 15, of which it has only 0 to 3, 5;',
    );
  });

  it('when a field without a sign has only some then the others are not wanted', () => {
    const third = planOfObject(
      {
        plan: 'third',
        fields: { floor: { bits: 2, values: '0..2' } },
        contents: {
          kind: 'truth-table',
          outputs: { odd: 1 },
          rows: [{ when: { floor: '0b-1' }, give: { odd: 1 } }],
          default: { odd: 0 },
        },
        roms: {
          one: { chip: '28C16', address: { floor: 'A0..A1', low: 'A2..A10' }, data: { odd: 'D0', unused: 'D1..D7' } },
        },
      },
      'third.js',
    );
    expect([...buildPlan(third)[0]!.image.defined.slice(0, 4)]).toEqual([1, 1, 1, 0]);
  });
});
