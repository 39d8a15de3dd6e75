// Values of a field as a plan writes them.
import { describe, expect, it } from 'vitest';
import { readChoice } from '../../src/plan/value-choice.js';

const field = {
  name: 'step',
  bits: 3,
  scanned: false,
  signed: false,
  values: null,
  names: new Map([
    [2, 'rest'],
    [5, 'rest'],
    [6, 'a..b'],
  ]),
};
const valuesOf = (written: string | number | readonly (string | number)[]): readonly number[] | string => {
  const choice = readChoice(written, field);
  return typeof choice === 'string' ? choice : choice.values;
};

describe('values of a field', () => {
  it.each([
    ['any', [0, 1, 2, 3, 4, 5, 6, 7]],
    [' - ', [0, 1, 2, 3, 4, 5, 6, 7]],
    ['rest', [2, 5]],
    ['a..b', [6]],
    ['3', [3]],
    [7, [7]],
    ['0b101', [5]],
    ['2..4', [2, 3, 4]],
    ['4..4', [4]],
    ['0x5..7', [5, 6, 7]],
    ['1..0b11', [1, 2, 3]],
    ['rest..4', [2, 3, 4]],
    ['0..rest', [0, 1, 2]],
    ['0b1-0', [4, 6]],
    ['0B--1', [1, 3, 5, 7]],
    [
      [6, '1..2', 1],
      [1, 2, 6],
    ],
    [
      ['rest', 'any'],
      [0, 1, 2, 3, 4, 5, 6, 7],
    ],
  ])('when %j is written then these are meant', (written, values) => {
    expect(valuesOf(written)).toEqual(values);
  });

  it.each([
    [8, '8'],
    [-1, '-1'],
    ['8', '8'],
    ['rset', 'rset'],
    ['5..8', '5..8'],
    ['4..3', '4..3'],
    ['a..3', 'a..3'],
    ['1..x', '1..x'],
    ['1..2..3', '1..2..3'],
    ['0b1-', '0b1-'],
    ['0b1-00', '0b1-00'],
    ['x0b1-0', 'x0b1-0'],
    ['0b1-0x', '0b1-0x'],
    [[1, 'rset', 9], 'rset'],
    [[], 'an empty list'],
  ])('when %j is written then what cannot be read is given back', (written, text) => {
    expect(valuesOf(written)).toBe(text);
  });

  it('when it is asked whether a value is meant then the answer is by the same list', () => {
    const choice = readChoice([1, 3], field);
    if (typeof choice === 'string') throw new Error(choice);
    expect([0, 1, 2, 3].map((value) => choice.has(value))).toEqual([false, true, false, true]);
    expect(choice.has(3)).toBe(true);
  });
});
