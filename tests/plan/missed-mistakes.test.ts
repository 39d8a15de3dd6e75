// Mistakes that only several ROMs, or pins and contents together, can show.
import { describe, expect, it } from 'vitest';
import { checkPlan, planOfObject, readPlan } from '../../src/plan/plan.js';

/** A ROM for each of three places. */
const digits = (places: readonly string[]): string => `plan: digits
fields: { count: 7, place: { bits: 2, names: { left: 0, middle: 1, right: 2 } } }
contents: { kind: decimal-display, value: count, place: place, places: 3 }
roms:
${places
  .map(
    (place, i) => `  d${i}:
    chip: 28C16
    address: { count: A0..A6, low: A7..A10 }
    data: { a: D0, b: D1, c: D2, d: D3, e: D4, f: D5, g: D6, unused: D7 }
    fixed: { place: ${place} }`,
  )
  .join('\n')}
`;
const found = (text: string, code: string): string[] =>
  checkPlan(readPlan(text, 'p.yaml'))
    .filter((f) => f.code === code)
    .map((f) => `${f.line}:${f.column} ${f.message}`);

describe('ROMs with fixed values', () => {
  it('when two are fixed at one value and none at another then both and the other value are named', () => {
    expect(found(digits(['0', '1', '2']), 'fixed.twice')).toEqual([]);
    expect(found(digits(['left', 'right', '2']), 'fixed.twice')).toEqual([
      '19:14 "d1" and "d2" are both fixed at place right, and no ROM is at place middle.',
    ]);
  });

  it('when every value has its ROM then a second one is no mistake', () => {
    expect(found(digits(['0', '1', '2', '2']), 'fixed.twice')).toEqual([]);
  });

  it('when two with one value carry different outputs then that is no mistake', () => {
    const split = digits(['0', '0']).replace(/g: D6, unused: D7(?![\s\S]*g: D6)/, 'unused: [D6, D7]');
    expect(found(split, 'fixed.twice')).toEqual([]);
  });
});

describe('outputs that are declared', () => {
  it('when one is neither wired nor ever set then it is named', () => {
    const hatch = (pins: string): string => `plan: hatch
fields: { row: 2 }
contents:
  kind: control-by-address
  address: row
  word: { lamp: {}, motor: { bits: 2, codes: { off: 0, up: 1 } } }
  unused: lamp
  program: lamp
roms:
  hatch: { chip: 28C16, address: { row: A0..A1, low: A2..A10 }, data: { lamp: D0, ${pins} } }
`;
    expect(found(hatch('unused: D1..D7'), 'output.idle')).toEqual([
      expect.stringContaining('Nothing ever sets the output "motor", and it reaches no data pin.'),
    ]);
    expect(found(hatch('motor: D1..D2, unused: D3..D7'), 'output.idle')).toEqual([]);
  });

  it('when a function never gives one then it is named', () => {
    const plan = planOfObject(
      {
        plan: 'dry',
        fields: { rain: 1 },
        contents: { kind: 'function', outputs: ['wet', 'dry'], at: ({ rain }: { rain: number }) => ({ wet: rain }) },
        roms: {
          dry: { chip: '28C16', address: { rain: 'A0', low: 'A1..A10' }, data: { wet: 'D0', unused: 'D1..D7' } },
        },
      },
      'dry.js',
    );
    expect(checkPlan(plan).map((f) => f.message)).toContain('The function never says what "dry" is.');
  });
});
