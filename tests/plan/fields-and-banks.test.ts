// Mistakes in the fields of a plan and between its banks: place, message and what would have been right.
import { describe, expect, it } from 'vitest';
import { buildPlan, readPlan } from '../../src/plan/plan.js';
import { inspected, planText, planted } from './planted.js';

/** Everything planted is found, each finding saying these words. */
const expectSaid = (marked: string, ...words: readonly string[]): void => {
  const { text, expected } = planted(marked);
  const { found, findings } = inspected(text);
  expect(found).toEqual(expect.arrayContaining(expected));
  const said = findings.map((f) => `${f.message} ${f.why}`).join('\n');
  for (const word of words) expect(said).toContain(word);
};

describe('fields', () => {
  const named = (fields: string) => planText({ fields: `fields: { number: 4, ${fields} }` });

  it('when a name cannot be one then the reason is said at the name', () => {
    for (const word of ['low', 'high', 'unused'])
      expectSaid(named(`<<field.name>>${word}: 1`), `"${word}" cannot be the name`, 'name pins that carry no field');
    for (const word of ['1st', 'a b', 'x'.repeat(65)])
      expectSaid(named(`<<field.name>>"${word}": 1`), `"${word}" cannot be the name`, 'letters, digits, - and _');
    expect(inspected(named(`${'x'.repeat(64)}: 1`)).findings.map((f) => f.code)).not.toContain('field.name');
  });

  it('when a word stands for a value that the field has not then value, word and range are said', () => {
    const field = 'mode: { bits: 1, names: { day: 0, night: 1, dusk: <<field.value>>2 } }';
    expectSaid(named(field), '2 ("dusk") is no value of mode.', '0 to 1');
    expect(inspected(planted(named(field)).text).findings.filter((f) => f.code === 'field.value')).toHaveLength(1);
  });

  const fixed = (value: string) =>
    planText({
      fields: 'fields: { number: { bits: 4, names: { all: 15 } } }',
      address: '    address: { low: A0..A10 }',
      rest: `    fixed: { ${value} }`,
    });

  it('when a field is fixed for a ROM then its words and numbers are taken', () => {
    for (const value of ['all', '15', '0', '0xF']) {
      const codes = inspected(fixed(`number: ${value}`)).findings.map((f) => f.code);
      expect(codes).not.toContain('field.value');
    }
    for (const value of ['16', '-1', 'al'])
      expectSaid(fixed(`number: <<field.value>>${value}`), `"${value}" is no value of number.`, '0 to 15');
  });

  it('when a field that is not there is fixed then the one that was meant is named', () => {
    expectSaid(fixed('number: 1, <<field.unknown>>numbr: 1'), '"numbr"', 'number');
  });
});

describe('numbers', () => {
  const spelled = (bits: string, day: string, fill: string, night: string): string =>
    planText({
      fields: `fields: { number: ${bits}, when: { bits: 1, names: { day: ${day}, night: 1 } } }`,
      contents: `contents:
  kind: banks
  select: when
  banks:
    - { value: day, contents: { kind: truth-table, outputs: [lamp], rows: [{ when: { number: any }, give: { lamp: 0 } }] } }
    - { value: ${night}, contents: { kind: truth-table, outputs: [lamp], rows: [{ when: { number: 0b1-00 }, give: { lamp: 1 } }] } }`,
      address: '    address: { number: A0..A3, when: A4, low: A5..A10 }',
      data: '    data: { lamp: D0, unused: D1..D7 }',
      rest: `fill: ${fill}`,
    });
  const bytesOf = (text: string) => buildPlan(readPlan(text, 'test.yaml'))[0]!.image.bytes;

  it('when they are written in other bases, quoted, or by a name of the field then the bytes are the same', () => {
    const decimal = bytesOf(spelled('4', '0', '165', '1'));
    expect(decimal[0x1c]).toBe(0xa5);
    for (const [bits, day, fill, night] of [
      ['0b100', '0b0', '0b10100101', '0b1'],
      ['0x4', '0x0', '0xA5', '0x1'],
      ['"4"', '"0"', '"165"', '"1"'],
      ["'0b1_00'", "'0b0'", "'0xA5'", 'night'],
      ['{ bits: 0b100 }', '"0x0"', '0b1010_0101', '"night"'],
    ] as const)
      expect(bytesOf(spelled(bits, day, fill, night))).toEqual(decimal);
  });

  it('when a number does not fit, in whatever base, then its range is said', () => {
    for (const bits of ['0b0', '0x19', '"25"', 'four', "'0b'", '-1'])
      expectSaid(
        planText({ fields: `fields: { number: { bits: <<shape.value>>${bits} } }` }),
        'a whole number from 1 to 24',
      );
    expectSaid(planText({ rest: 'fill: <<shape.value>>0b100000000' }), 'leave, or a byte from 0 to 0xFF');
  });
});

describe('banks', () => {
  const table = (outputs: string, inputs = '{}') =>
    `{ kind: truth-table, outputs: ${outputs}, rows: [{ when: ${inputs}, give: { lamp: 1 } }], default: { lamp: 0 } }`;
  const banks = (select: string, first: string, second: string) =>
    planText({
      fields: 'fields: { number: 4, half: 1, count: 1 }',
      contents: [
        'contents:',
        '  kind: banks',
        `  select: ${select}`,
        '  banks:',
        `    - ${first}`,
        `    - ${second}`,
      ].join('\n'),
      address: '    address: { number: A0..A3, half: A4, low: A5..A10 }',
      data: '    data: { lamp: D0, unused: D1..D7 }',
    });
  const one = (value: string, contents: string) => `{ value: ${value}, contents: ${contents} }`;

  it('when they fit together then no mistake is found', () => {
    const right = banks(
      'half',
      one('0', table('{ lamp: 1 }', '{ number: 3 }')),
      one('1', table('{ lamp: 1 }', '{ number: 5 }')),
    );
    expect(inspected(right).findings.filter((f) => f.severity === 'error')).toEqual([]);
  });

  it('when the field that chooses is not there then the one that was meant is named', () => {
    expectSaid(
      banks('<<field.unknown>>hafl', one('0', table('{ lamp: 1 }')), one('1', table('{ lamp: 1 }'))),
      'There is no field "hafl".',
      'half',
    );
  });

  it('when a bank reads the field that chooses it then that is said with its number', () => {
    expectSaid(
      banks('half', one('0', table('{ lamp: 1 }')), `<<bank.select>>${one('1', table('{ lamp: 1 }', '{ half: 1 }'))}`),
      'Bank 2 reads the field "half" that chooses the bank.',
      'Inside a bank it has one value only.',
    );
  });

  it('when an output has another width or polarity in another bank then both banks are named', () => {
    const steps =
      '{ kind: control-by-step, opcode: number, step: count, lines: { lamp: { active: low } }, instructions: { go: { opcode: 0, steps: [lamp] } } }';
    for (const other of [table('{ lamp: 2 }'), steps])
      expectSaid(
        banks('half', one('0', table('{ lamp: 1 }')), `<<bank.output>>${one('1', other)}`),
        'The output "lamp" is not the same in banks 1 and 2.',
        'give one of them another name',
      );
  });

  it('when a value is given twice or is too large then both banks, or the range, are said', () => {
    expectSaid(
      banks('half', one('1', table('{ lamp: 1 }')), one('<<bank.twice>>1', table('{ lamp: 1 }'))),
      'Two banks have the value 1: 1 and 2.',
      'Each value chooses one bank.',
    );
    expectSaid(
      banks('half', one('0', table('{ lamp: 1 }')), one('<<field.value>>2', table('{ lamp: 1 }'))),
      '2 is no value of half.',
      '0 to 1',
    );
    expectSaid(
      banks('half', one('0', table('{ lamp: 1 }')), one('<<field.value>>uper', table('{ lamp: 1 }'))),
      'uper is no value of half.',
    );
  });
});
