// What shows only when contents and pins meet: fields that nothing reads, outputs without a pin, lines that change nothing, holes.
import { describe, expect, it } from 'vitest';
import { inspectPlan } from '../../src/plan/plan.js';
import { planText } from './planted.js';

const all = (text: string): string[] =>
  inspectPlan(text, 'test.yaml').findings.map((f) => `${f.line}:${f.column} ${f.code}: ${f.message} ${f.why}`);
const of = (code: string, text: string): string[] => all(text).filter((f) => f.includes(` ${code}: `));

/** Rows of a truth table of two outputs over a field of four bits. */
const table = (rows: readonly string[], outputs = '{ lamp: 1, level: 2 }'): string =>
  `contents:\n  kind: truth-table\n  outputs: ${outputs}\n  rows:\n${rows.map((r) => `    - ${r}`).join('\n')}`;
const everywhere = (set: string): string => `{ when: {}, give: ${set} }`;
/** The lamp is lit at this number alone. */
const onlyAt = (number: number): string[] => [
  `{ when: { number: ${number} }, give: { lamp: 1, level: 0 } }`,
  `{ when: { number: 0..${number - 1} }, give: { lamp: 0, level: 0 } }`,
  `{ when: { number: ${number + 1}..15 }, give: { lamp: 0, level: 0 } }`,
];
const tableData = '    data: { lamp: D0, level: [D1, D2], unused: D3..D7 }';

describe('fields that nothing reads', () => {
  it('when contents do not name a field then it is told, with what to do', () => {
    const text = planText({
      fields: 'fields: { number: 4, spare: 1 }',
      address: '    address: { number: A0..A3, spare: A4, low: A5..A10 }',
    });
    expect(of('field.unread', text)).toEqual([
      '2:22 field.unread: No contents read the field "spare". Whatever it is, the outputs are the same; strike it, or name it where it belongs.',
    ]);
    expect(of('field.unread', planText({}))).toEqual([]);
  });
});

describe('outputs without a pin', () => {
  const why = 'The contents set it, but nothing in the circuit can see it.';
  const data = (pins: string): string =>
    planText({ contents: table([everywhere('{ lamp: 1, level: 3 }')]), data: `    data: { ${pins} }` });

  it.each([
    ['level: [D1, D2], unused: [D0, D3..D7]', `The output "lamp" reaches no data pin. ${why}`],
    ['lamp: D0, level.0: D1, unused: D2..D7', `The bit level.1 reaches no data pin. ${why}`],
    ['lamp: D0, unused: D1..D7', `The bits level.0, level.1 reach no data pin. ${why}`],
  ])('when the pins are {%s} then what is lost is named', (pins, said) => {
    const found = of('output.unwired', data(pins));
    expect(found.length).toBe(1);
    expect(found[0]).toContain(said);
  });

  it('when all have a pin, or a bit is never set, then nothing is said', () => {
    expect(of('output.unwired', data('lamp: D0, level: [D1, D2], unused: D3..D7'))).toEqual([]);
    const text = planText({
      contents: table([everywhere('{ lamp: 1, level: 1 }')]),
      data: '    data: { lamp: D0, level.0: D1, unused: D2..D7 }',
    });
    expect(of('output.unwired', text)).toEqual([]);
  });

  it('when it is set at the last setting alone then it is lost all the same', () => {
    const text = planText({
      contents: table([
        '{ when: { number: 15 }, give: { lamp: 1, level: 0 } }',
        '{ when: { number: 0..14 }, give: { lamp: 0, level: 1 } }',
      ]),
      data: '    data: { level: [D1, D2], unused: [D0, D3..D7] }',
    });
    expect(of('output.unwired', text)[0]).toContain('The output "lamp" reaches no data pin.');
  });

  it('when two ROMs share a table then a pin of either will do', () => {
    const text = [
      'plan: test',
      'fields: { number: 4 }',
      table([everywhere('{ lamp: 1, level: 3 }')]),
      'roms:',
      '  one: { chip: 28C16, address: { number: A0..A3, low: A4..A10 }, data: { lamp: D0, unused: D1..D7 } }',
      '  two: { chip: 28C16, address: { number: A0..A3, low: A4..A10 }, data: { level: D0..D1, unused: D2..D7 } }',
    ].join('\n');
    expect(of('output.unwired', text)).toEqual([]);
  });
});

describe('lines on which nothing depends', () => {
  /** A plan whose rows say nothing of `mode`. */
  const withMode = (bits: number, pins: string): string =>
    planText({
      fields: `fields: { number: 4, mode: ${bits} }`,
      contents: table(onlyAt(1)),
      address: `    address: { number: A0..A3, ${pins} }`,
      data: tableData,
    });

  it('when some do nothing then all are named together, and the smallest chip that would do', () => {
    const text = withMode(2, 'mode: [A11, A12], low: A4..A10').replace('28C16', '28C64');
    expect(of('input.idle', text)).toEqual([
      expect.stringContaining('No output of "one" depends on A11 (mode.0), A12 (mode.1).'),
    ]);
    // Tied lines are no lines that could be saved in the table, but they are as idle.
    expect(of('input.idle', text)[0]).toMatch(/4 address lines are enough, so a 28C16 would do in place of the 28C64;/);
  });

  it('when no smaller chip would do then tying is proposed', () => {
    const text = withMode(1, 'mode: A4, low: A5..A10');
    expect(of('input.idle', text)).toEqual([
      expect.stringContaining(
        'depends on A4 (mode.0). Those pins could be tied; or something is missing in the contents.',
      ),
    ]);
  });

  it('when two lines do something only together then neither is idle', () => {
    const rows = onlyAt(3);
    const found = of('input.idle', planText({ contents: table(rows), data: tableData }));
    expect(found).toEqual([]);
  });

  it('when halves are defined in part then they are laid over each other before the next line is tried', () => {
    // Cells 0 and 3 say different things, 1 and 2 nothing: one of the two lines may go, not both.
    const rows = [
      '{ when: { number: 0 }, give: { lamp: 0, level: 0 } }',
      '{ when: { number: 3 }, give: { lamp: 1, level: 0 } }',
    ];
    const text = planText({
      fields: 'fields: { number: 2 }',
      contents: table(rows),
      address: '    address: { number: A0..A1, low: A2..A10 }',
      data: tableData,
    });
    expect(of('input.idle', text)).toEqual([expect.stringContaining('depends on A0 (number.0).')]);
  });
});

describe('cells of which nothing is said', () => {
  const rows = [
    '{ when: { number: 0 }, give: { lamp: 0, level: 0 } }',
    '{ when: { number: 2 }, give: { lamp: 1, level: 1 } }',
  ];

  it('when the circuit can meet some then they are counted, and what it reads there is told', () => {
    const [found, ...more] = of('cell.undefined', planText({ contents: table(rows), data: tableData }));
    expect(more).toEqual([]);
    expect(found).toContain('14 of 2048 bytes of "one" are not defined, the first at 0x001 (number 1');
    expect(found).toContain('The circuit can meet them, and then reads what the chip holds there already.');
    const filled = of('cell.undefined', planText({ contents: table(rows), data: tableData, rest: 'fill: 0x0a' }));
    expect(filled[0]).toContain('and then reads 0x0A, as "fill" says.');
  });

  it('when cell 0 is the first of them then it is named as such', () => {
    const [found] = of('cell.undefined', planText({ contents: table(rows.slice(1)), data: tableData }));
    expect(found).toContain('15 of 2048 bytes of "one" are not defined, the first at 0x000 (number 0');
  });
});
