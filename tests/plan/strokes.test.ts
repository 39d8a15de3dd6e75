// Strokes in pin lists: fields that reach the address pins inverted, and outputs that leave on two pins, true and complement.
import { describe, expect, it } from 'vitest';
import {
  addressOf,
  buildPlan,
  checkPlan,
  lookAt,
  type Plan,
  pinListYaml,
  readPlan,
  romOf,
  sayLooks,
} from '../../src/plan/plan.js';
import { answer, startSession, verdict } from '../../src/suspect/bench-session.js';
import { circuitOfPlan } from '../../src/suspect/plan-circuit.js';
import { inspected, planText, planted } from './planted.js';

const contents = `contents:
  kind: truth-table
  outputs: { lamp: 1, level: 2 }
  rows:
    - { when: { number: 5 }, give: { lamp: 1, level: 2 } }
    - { when: { number: 12..13 }, give: { lamp: 0, level: 1 } }
  default: { lamp: 0, level: 3 }`;
/** What the table gives, written down once more. */
const tableAt = (number: number): { lamp: number; level: number } =>
  number === 5 ? { lamp: 1, level: 2 } : number === 12 || number === 13 ? { lamp: 0, level: 1 } : { lamp: 0, level: 3 };

const text = (address: string, data: string): string =>
  planText({ contents, address: `    address: { ${address} }`, data: `    data: { ${data} }` });
const planOf = (address: string, data: string): Plan => readPlan(text(address, data), 'test.yaml');
const bytesOf = (plan: Plan): Uint8Array => buildPlan(plan)[0]!.image.bytes;
const plain = 'lamp: D0, level: D1..D2, unused: D3..D7';

describe('a stroke at an address', () => {
  it.each([
    ['/number: A0..A3', 0b1111],
    ['number: /A0..A3', 0b1111],
    ['number: [A0, /A1, A2, /A3]', 0b1010],
    ['number.0..1: A0..A1, /number.2..3: A2..A3', 0b1100],
  ])('when %s is written then those bits arrive inverted', (address, mask) => {
    const plan = planOf(`${address}, low: A4..A10`, plain);
    const bytes = bytesOf(plan);
    for (let number = 0; number < 16; number++) {
      const { lamp, level } = tableAt(number);
      expect(bytes[number ^ mask], String(number)).toBe(0xf8 | (level << 1) | lamp);
      expect(addressOf(plan, romOf(plan), [`number=${number}`])).toEqual([number ^ mask]);
    }
    expect(checkPlan(plan)).toEqual([]);
    const said = sayLooks(lookAt(plan, romOf(plan), 5 ^ mask));
    expect(said).toContain('number 5: lamp');
    expect(said.match(/ \/number/g) ?? []).toHaveLength([...mask.toString(2)].filter((b) => b === '1').length);
  });

  it('when the pins are written as a plan again then the bytes are the same', () => {
    const plan = planOf(
      'number: [/A3, A1, /A2, A0], low: A4..A10',
      'lamp: D0, /lamp: D4, level: [/D1, D2], /level.1: D5, unused: [D3, D6, D7]',
    );
    const { address, data } = romOf(plan);
    const again = planText({ contents, address: pinListYaml(address, data), data: '' });
    expect(bytesOf(readPlan(again, 'again.yaml'))).toEqual(bytesOf(plan));
  });
});

describe('a stroke at an output', () => {
  const plan = planOf(
    'number: A0..A3, low: A4..A10',
    'lamp: D7, /lamp: D0, level: D1..D2, /level: [D4, D3], unused: D5..D6',
  );

  it('when an output has two pins then one carries the complement of the other', () => {
    const bytes = bytesOf(plan);
    for (let number = 0; number < 16; number++) {
      const { lamp, level } = tableAt(number);
      const [low, high] = [level & 1, level >> 1];
      const wanted = (lamp << 7) | (1 - lamp) | (low << 1) | (high << 2) | ((1 - low) << 4) | ((1 - high) << 3) | 0x60;
      expect(bytes[number], String(number)).toBe(wanted);
    }
    expect(checkPlan(plan)).toEqual([]);
    expect(sayLooks(lookAt(plan, romOf(plan), 5))).toContain('D0=0 /lamp');
  });

  it('when contents call an output active low then its complement is high', () => {
    const low = planText({
      fields: 'fields: { number: 4, step: 2 }',
      contents: `contents:
  kind: control-by-step
  opcode: number
  step: step
  lines: { lamp.light: { active: low } }
  instructions: { shine: { opcode: 0, steps: [lamp.light] } }
  unused: { steps: idle }`,
      address: '    address: { number: A0..A3, step: A4..A5, low: A6..A10 }',
      data: '    data: { lamp.light: D0, /lamp.light: D1, unused: D2..D7 }',
    });
    const bytes = bytesOf(readPlan(low, 'low.yaml'));
    expect([bytes[0]! & 3, bytes[16]! & 3]).toEqual([0b10, 0b01]);
  });

  it('when one of the two pins is open then the bench tells which', () => {
    const rom = romOf(plan);
    const circuit = circuitOfPlan(plan, rom, buildPlan(plan)[0]!.image);
    expect(circuit.shows).toMatchObject({
      names: ['lamp', 'level.0', 'level.1', 'level.1@D3', 'level.0@D4', 'lamp@D7'],
    });
    // D7 carries the lamp; it is dark there at 5, where D0 shows it.
    const question = circuit.questions.find((q) => q.values.get('number') === 5)!;
    const session = answer(startSession(circuit, 1), question, 'lamp level.1 level.1@D3');
    expect(
      verdict(session)
        .explanations.flatMap((e) => e.faults.map((f) => JSON.stringify(f)))
        .join(),
    ).toContain('D7');
  });
});

describe('mistakes with strokes', () => {
  const expectAll = (marked: string): void => {
    const { text: read, expected } = planted(marked);
    expect(inspected(read).found).toEqual(expected);
  };

  it('when a bit is inverted twice then the pin is named', () => {
    expectAll(text('/number: [<<pin.polarity>>/A0, A1..A3], low: A4..A10', plain));
    expectAll(
      text('number: A0..A3, low: A4..A10', 'lamp: D0, /lamp: <<pin.polarity>>/D3, level: D1..D2, unused: D4..D7'),
    );
  });

  it('when a pin without a field has a stroke then that is said', () => {
    expectAll(text('number: A0..A3, low: [<<pin.polarity>>/A4, A5..A10]', plain));
  });

  it('when the name behind a stroke is unknown then the near one is meant', () => {
    const { text: read, expected } = planted(
      text('number: A0..A3, low: A4..A10', `${plain.replace('D3..D7', 'D4..D7')}, <<output.unknown>>/lapm: D3`),
    );
    const { found, findings } = inspected(read);
    expect(found).toEqual(expected);
    expect(findings[0]!.why).toBe('Did you mean "lamp"?');
  });
});
