// Truth tables: don't cares, ranges, names, defaults, and what is said of them.
import { describe, expect, it } from 'vitest';
import { meaningOf } from '../../src/plan/look.js';
import { addressOf, buildPlan, checkPlan, describeDifference, listPlan, readPlan, romOf } from '../../src/plan/plan.js';
import { planText } from './planted.js';

const table = (rows: string, rest = '', outputs = '{ lamp: 1, level: 2 }'): string =>
  planText({
    fields: 'fields: { number: { bits: 4, names: { none: 0, all: 15 } }, key: 1 }',
    contents: `contents:\n  kind: truth-table\n  outputs: ${outputs}\n  rows:\n${rows}${rest ? `\n  ${rest}` : ''}`,
    address: '    address: { key: A9, number: [A3, A2, A1, A0], low: [A4..A8, A10] }',
    data: '    data: { lamp: /D3, level: [D7, D0], unused: [D1, D2, D4..D6] }',
  });

/** lamp and level at one setting, as the image has them; null where the byte is not defined. */
function valuesOf(text: string): (number: number, key: number) => [number, number] | null {
  const plan = readPlan(text, 't.yaml');
  const { bytes, defined } = buildPlan(plan)[0]!.image;
  return (number, key) => {
    const [address] = addressOf(plan, romOf(plan), [`number=${number}`, `key=${key}`]);
    const byte = bytes[address!]!;
    return defined[address!] ? [((byte >> 3) & 1) ^ 1, ((byte >> 7) & 1) | ((byte & 1) << 1)] : null;
  };
}

const valueAt = (text: string, number: number, key: number) => valuesOf(text)(number, key);

const rows = `    - { when: { number: 0..3, key: 0 }, give: { lamp: 1, level: 0 } }
    - { when: { number: [4, 0b1-00, 15], key: 0 }, give: { lamp: 1, level: 1 } }
    - { about: pressed, when: { key: 1 }, give: { lamp: 0, level: 3 } }`;

describe('truth tables', () => {
  it("when a row has ranges, lists and bits with don't cares then all its settings get it", () => {
    const at = valuesOf(table(rows, 'default: { lamp: 0, level: 2 }'));
    for (let n = 0; n < 16; n++) {
      const wanted = n < 4 ? [1, 0] : [4, 8, 12, 15].includes(n) ? [1, 1] : [0, 2];
      expect(at(n, 0)).toEqual(wanted);
      expect(at(n, 1)).toEqual([0, 3]);
    }
  });

  it('when no row and no default speaks then the byte is not defined', () => {
    expect(valueAt(table(rows), 5, 0)).toBeNull();
    expect(valueAt(table(rows, 'default: { lamp: 1 }'), 5, 0)).toEqual([1, 0]);
  });

  it("when an output is a don't care then it is left at rest and no hole is reported", () => {
    const text = table('    - { when: {}, give: { lamp: any, level: 1 } }');
    expect(valueAt(text, 5, 0)).toEqual([0, 1]);
    expect(checkPlan(readPlan(text, 't.yaml')).map((f) => f.code)).not.toContain('row.hole');
  });

  it('when values have names then rows may use them', () => {
    const text = table(
      '    - { when: { number: none }, give: { lamp: 1 } }\n    - { when: { number: all }, give: { lamp: 0, level: 3 } }',
      'default: { lamp: 0, level: 0 }',
    );
    expect(valueAt(text, 0, 1)).toEqual([1, 0]);
    expect(valueAt(text, 15, 0)).toEqual([0, 3]);
  });

  it('when two rows overlap and agree then nothing is said', () => {
    const text = table(
      '    - { when: { number: 0..9 }, give: { lamp: 1, level: 1 } }\n    - { when: { number: 5..15 }, give: { lamp: 1, level: 1 } }',
    );
    expect(checkPlan(readPlan(text, 't.yaml')).filter((f) => f.code.startsWith('row'))).toEqual([]);
  });

  it('when holes are many then they are joined to few words', () => {
    const text = table('    - { when: { number: 4..7 }, give: { lamp: 1, level: 1 } }');
    const [hole] = checkPlan(readPlan(text, 't.yaml')).filter((f) => f.code === 'row.hole');
    expect(hole?.message).toBe(
      'No row says what lamp is at number 0..3, next to row 1; number 8..15, next to row 1 (12 of 16 settings).',
    );
  });

  it('when an address is explained then the row is named', () => {
    const plan = readPlan(table(rows, 'default: { lamp: 0, level: 2 }'), 't.yaml');
    const [address] = addressOf(plan, romOf(plan), ['number=9', 'key=1']);
    expect(meaningOf(romOf(plan), address!)).toBe('number 9, key 1: level 3 (by row 3 ("pressed"))');
    expect(meaningOf(romOf(plan), addressOf(plan, romOf(plan), ['number=9', 'key=0'])[0]!)).toMatch(
      /by no row, the default/,
    );
  });

  it('when a byte differs then every output that differs is named with both values', () => {
    const plan = readPlan(table(rows, 'default: { lamp: 0, level: 2 }'), 't.yaml');
    const [address] = addressOf(plan, romOf(plan), ['number=all', 'key=0']);
    const wanted = buildPlan(plan)[0]!.image.bytes[address!]!;
    expect(describeDifference(romOf(plan), address!, wanted, wanted ^ 0b1000_1000)).toMatch(
      /lamp is off and should be on; level is 0 and should be 1$/,
    );
    expect(describeDifference(romOf(plan), address!, wanted, wanted ^ 0b0000_0010)).toMatch(
      /only data pins that carry nothing differ/,
    );
  });

  it('when it is listed then every row and the default stand there', () => {
    const list = listPlan(readPlan(table(rows, 'default: { lamp: 0, level: 2 }'), 't.yaml'));
    expect(list.map((r) => r.when)).toEqual([
      'number 0..3; key 0',
      'number 4, 0b1-00, 15; key 0',
      'key 1',
      'otherwise',
    ]);
    expect(list[2]?.does).toBe('lamp 0, level 3 (pressed)');
  });
});
