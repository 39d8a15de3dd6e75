// What words like `number=3` on a command line choose in a plan, and what is said of words that choose nothing.
import { describe, expect, it } from 'vitest';
import { ToolError } from '../../src/ground/errors.js';
import { addressesOf, valuesAt } from '../../src/plan/addressing.js';
import { readPlan } from '../../src/plan/plan.js';

const plan = readPlan(
  `
plan: test
fields: { number: 3, mode: { bits: 1, names: { day: 0, night: 1 } }, half: 1 }
contents: { kind: truth-table, outputs: { lamp: 1 }, rows: [{ when: { number: 3 }, give: { lamp: 1 } }], default: { lamp: 0 } }
roms:
  left:
    chip: 28C16
    address: { number: A0..A2, mode: A4, high: A3, low: A5..A10 }
    data: { lamp: D0, unused: D1..D7 }
  right:
    chip: 28C16
    address: { number: A1..A3, low: [A0, A4..A10] }
    data: { lamp: D0, unused: D1..D7 }
    fixed: { half: 1 }
`,
  'test.yaml',
);
const [left, right] = plan.roms;

const refused = (...settings: string[]): ToolError => {
  try {
    addressesOf(plan, left!, settings);
  } catch (error) {
    if (error instanceof ToolError) return error;
    throw error;
  }
  throw new Error('it was taken');
};

describe('settings of fields', () => {
  it('when all fields are named then one address is meant, with the tied pins as they are', () => {
    expect(addressesOf(plan, left!, ['number=5', 'mode=night'])).toEqual([0b11101]);
    expect(addressesOf(plan, left!, [' number = 5 ', 'mode=0'])).toEqual([0b01101]);
    expect([...valuesAt(left!, 0b11101)]).toEqual([
      ['number', 5],
      ['mode', 1],
    ]);
  });

  it('when a field is left out or given a range then all its values are meant', () => {
    expect(addressesOf(plan, left!, ['number=6..7'])).toEqual([0b01110, 0b11110, 0b01111, 0b11111]);
    expect(addressesOf(plan, left!, [])).toHaveLength(16);
    expect(addressesOf(plan, left!, ['number=-0', 'mode=day'])).toEqual([0b01000]);
  });

  it('when a ROM is reached by none of the fields, or has another value fixed, then no address of it is meant', () => {
    expect(addressesOf(plan, right!, ['mode=1'])).toEqual([]);
    expect(addressesOf(plan, right!, ['half=0'])).toEqual([]);
    expect(addressesOf(plan, right!, ['half=1', 'number=2'])).toEqual([0b0100]);
    // One field that reaches it is enough.
    expect(addressesOf(plan, right!, ['mode=1', 'number=2'])).toEqual([0b0100]);
  });

  it('when a word is no setting then the right form is said', () => {
    for (const word of ['number', 'number=1=2']) {
      const { message, note } = refused(word);
      expect(message).toContain('this is not a setting.');
      expect(note).toContain('Write field=value');
    }
  });

  it('when there is no such field, or it is named twice, then that is said with the fields there are', () => {
    expect(refused('wind=1').message).toContain('there is no field "wind".');
    expect(refused('wind=1').note).toContain('Fields are: number, mode, half.');
    expect(refused('numbr=1').note).toContain('number');
    expect(refused('mode=1', 'mode=0').note).toContain('mode=1..2');
  });

  it('when a value is none of the field then its range is said, its words, and that it is not signed', () => {
    expect(refused('number=8').message).toContain('"8" is no value of number.');
    expect(refused('number=8').note).toMatch(/3 bits.*0 to 7/);
    expect(refused('mode=dusk').note).toMatch(/1 bit\b.*0 to 1.*day.*night/);
    for (const word of ['number=-1', 'number=--1', 'number=1-'])
      expect(refused(word).message).toContain('is no value of number.');
  });
});
