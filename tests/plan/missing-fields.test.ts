// Fields that outputs depend on and that do not reach the ROM: whole fields by the values of the table, single bits by name.
import { describe, expect, it } from 'vitest';
import { outlineOf } from '../../src/plan/outline.js';
import { inspectPlan } from '../../src/plan/plan.js';
import { planText } from './planted.js';

const errors = (text: string): string[] =>
  inspectPlan(text, 'test.yaml')
    .findings.filter((f) => f.severity === 'error')
    .map((f) => `${f.line}:${f.column} ${f.code}: ${f.message} ${f.why}`);

/** A truth table over number and mode, two bits each, of which only the pins in `address` are wired. */
const wired = (rows: readonly string[], address: string, data = 'lamp: D0, horn: D1, unused: D2..D7'): string =>
  planText({
    fields: 'fields: { number: 2, mode: 2 }',
    contents: `contents:\n  kind: truth-table\n  outputs: [lamp, horn]\n  rows:\n${rows.map((r) => `    - ${r}`).join('\n')}`,
    address: `    address: { ${address} }`,
    data: `    data: { ${data} }`,
  });
const row = (when: string, give: string): string => `{ when: { ${when} }, give: { ${give} } }`;
const missing = (output: string): RegExp =>
  new RegExp(
    `field\\.missing: The field "mode" does not reach the ROM "one", and its output "${output}" depends on it\\. Give the field address pins, or one value under "fixed"\\.$`,
  );
const number = 'number: [A0, A1], low: A2..A10';

describe('a field without pins', () => {
  it.each([
    ['at the first setting', ['number: 0, mode: 0', 'number: 0, mode: 1..3']],
    ['at one setting of the others that is not the first', ['number: 2, mode: 0..2', 'number: 2, mode: 3']],
    ['at the last setting alone', ['number: 3, mode: 0..2', 'number: 3, mode: 3']],
    ['where its value 0 is left open', ['number: 1, mode: 1', 'number: 1, mode: 2']],
  ])('when an output changes with it %s then it is missing', (_, [on, off]) => {
    const rows = [row(on!, 'lamp: 1'), row(off!, 'lamp: 0')];
    expect(errors(wired(rows, number))).toEqual([expect.stringMatching(missing('lamp'))]);
  });

  it('when outputs are said at one of its values alone, or the same at all, then it is not missed', () => {
    expect(errors(wired([row('number: 1, mode: 2', 'lamp: 1')], number))).toEqual([]);
    expect(errors(wired([row('number: 1, mode: 1', 'lamp: 1'), row('number: 2, mode: 2', 'lamp: 0')], number))).toEqual(
      [],
    );
    expect(errors(wired([row('number: any, mode: any', 'lamp: 1, horn: 0')], number))).toEqual([]);
  });

  it('when an output changes with it that has no pin here then it is not missed, and the first that has one is named', () => {
    const rows = [row('mode: 0, number: any', 'lamp: 1, horn: 1'), row('mode: 1, number: any', 'lamp: 0, horn: 1')];
    expect(errors(wired(rows, number, 'horn: D1, unused: [D0, D2..D7]'))).toEqual([]);
    const both = [row('mode: 0, number: any', 'lamp: 1, horn: 1'), row('mode: 1, number: any', 'lamp: 0, horn: 0')];
    expect(errors(wired(both, number))).toEqual([expect.stringMatching(missing('lamp'))]);
    expect(errors(wired(both, number, 'horn: D1, unused: [D0, D2..D7]'))).toEqual([
      expect.stringMatching(missing('horn')),
    ]);
  });

  it('when a name stands there that may be this field mistyped then it is not said to be missing too', () => {
    const rows = [row('mode: 0, number: any', 'lamp: 1'), row('mode: 1..3, number: any', 'lamp: 0')];
    expect(errors(wired(rows, 'number: [A0, A1], mood: [A2, A3], low: A4..A10'))).toEqual([
      expect.stringMatching(/field\.unknown: There is no field "mood"/),
    ]);
  });
});

describe('single bits without pins', () => {
  const display = (address: string): string[] => errors(planText({ address: `    address: { ${address} }` }));

  it.each([
    ['number.0..2: A0..A2, low: A3..A10', 'The bit number.3 has no pin at the ROM "one".'],
    ['number.1: A1, number.2: A2, low: [A0, A3..A10]', 'The bits number.0, number.3 have no pin at the ROM "one".'],
    ['number.0: A0, number.2: A2, low: [A1, A3..A10]', 'The bits number.1, number.3 have no pin at the ROM "one".'],
  ])('when the pins are {%s} then those bits are named', (address, said) => {
    expect(display(address)).toEqual([`7:5 field.width: ${said} The field is 4 bits wide, and every bit has a pin.`]);
  });

  it('when a bit is named that the field does not have then it stands for any that it has', () => {
    expect(display('number.3..5: A0..A2, low: A3..A10')).toEqual([
      expect.stringMatching(/field\.width: The field "number" has no bit 4\./),
    ]);
    expect(display('number.0..2: A0..A2, number.4: A3, low: A4..A10')).toEqual([
      expect.stringMatching(/field\.width: The field "number" has no bit 4\./),
    ]);
  });
});

describe('contents of which only inputs and outputs are known', () => {
  it('when they are asked then they say nothing', () => {
    const inputs = new Map([['number', 2]]);
    const outputs = new Map([
      ['lamp', 1],
      ['level', 3],
    ]);
    const table = outlineOf({ inputs, outputs });
    expect(table).toMatchObject({ inputs, outputs, activeLow: new Set(), outline: true });
    expect(table.at([0])).toStrictEqual([undefined, undefined]);
    expect([table.explain([0]), table.findings(), table.list()]).toEqual(['', [], []]);
    expect('neverTogether' in table).toBe(false);
  });

  it('when outputs of theirs never speak together then that is kept, and which are active low', () => {
    const activeLow = new Set(['lamp']);
    const neverTogether = (one: string, other: string): boolean => one !== other;
    const table = outlineOf({ inputs: new Map(), outputs: new Map(), activeLow, neverTogether });
    expect(table.activeLow).toBe(activeLow);
    expect([table.neverTogether?.('a', 'b'), table.neverTogether?.('a', 'a')]).toEqual([true, false]);
  });
});
