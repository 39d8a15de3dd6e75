// What a schema found wrong, in plain words and at its own place.
import * as v from 'valibot';
import { describe, expect, it } from 'vitest';
import { checkShape } from '../../src/plan/schema-mistake.js';

const pin = v.pipe(v.string(), v.regex(/^D\d$/, 'one data pin'));
const schema = v.strictObject({
  name: v.string(),
  bits: v.optional(v.pipe(v.number(), v.integer('a whole number'))),
  scanned: v.optional(v.boolean()),
  pins: v.optional(v.union([pin, v.array(pin)])),
  names: v.optional(v.record(v.pipe(v.string(), v.regex(/^\d+$/, 'a number')), v.string())),
  inside: v.optional(v.strictObject({ depth: v.number() })),
  rows: v.optional(v.array(v.strictObject({ give: v.number() }))),
});

const mistakes = (value: unknown) =>
  checkShape(schema, value, 'The field "place"').findings.map(({ code, message, why, path, onKey }) => ({
    code,
    message,
    why,
    path,
    onKey: onKey ?? false,
  }));
const valueMistake = (message: string, why: string, path: readonly (string | number)[], onKey = false) => ({
  code: 'shape.value',
  message,
  why,
  path,
  onKey,
});

describe('a value that fits', () => {
  it('when nothing is wrong then it is given as the schema gives it', () => {
    const value = {
      name: 'x',
      bits: 3,
      pins: ['D0', 'D1'],
      names: { 1: 'a' },
      inside: { depth: 2 },
      rows: [{ give: 1 }],
    };
    expect(checkShape(schema, value, 'it')).toEqual({ output: value, findings: [] });
  });
});

describe('a value that does not fit', () => {
  it.each([
    [7, '7'],
    [true, 'true'],
    [null, 'empty'],
    [[1], 'a list'],
    [{ a: 1 }, 'a map'],
    [() => 1, 'a function'],
  ])('when %j stands where a text belongs then it is called by what it is', (name, called) => {
    expect(mistakes({ name })).toEqual([valueMistake(`"name" is ${called}.`, 'It should be a text.', ['name'])]);
  });

  it('when a text stands there then it is quoted, and a long one is cut', () => {
    const at = (bits: string) => mistakes({ name: 'x', bits })[0]!.message;
    expect(at('four')).toBe('"bits" is "four".');
    expect(at('x'.repeat(40))).toBe(`"bits" is "${'x'.repeat(40)}".`);
    expect(at('x'.repeat(41))).toBe(`"bits" is "${'x'.repeat(40)}...".`);
  });

  it('when it is of another kind then what belongs there is said in plain words', () => {
    expect(mistakes({ name: 'x', bits: 'a' })[0]!.why).toBe('It should be a number.');
    expect(mistakes({ name: 'x', bits: 1.5 })[0]!.why).toBe('It should be a whole number.');
    expect(mistakes({ name: 'x', scanned: 1 })[0]!.why).toBe('It should be true or false.');
    expect(mistakes({ name: 'x', rows: 1 })[0]!.why).toBe('It should be a list.');
    expect(mistakes({ name: 'x', inside: 1 })[0]!.why).toBe('It should be a map of keys.');
    expect(mistakes({ name: 'x', pins: 1 })[0]!.why).toBe('It should be a text or a list.');
    expect(mistakes('x')).toEqual([valueMistake('The field "place" is "x".', 'It should be a map of keys.', [])]);
  });

  it('when it is deep inside then the whole way to it is said', () => {
    expect(mistakes({ name: 'x', rows: [{ give: 1 }, { give: 'y' }] })).toEqual([
      valueMistake('"rows.1.give" is "y".', 'It should be a number.', ['rows', 1, 'give']),
    ]);
  });

  it('when one of several forms was meant then the mistake inside it is said', () => {
    expect(mistakes({ name: 'x', pins: ['D0', 'DX'] })).toEqual([
      valueMistake('"pins.1" is "DX".', 'It should be one data pin.', ['pins', 1]),
    ]);
    expect(mistakes({ name: 'x', pins: 'DX' })[0]!.path).toEqual(['pins']);
  });

  it('when a key itself does not fit then it is the key that cannot be used', () => {
    expect(mistakes({ name: 'x', names: { one: 'a' } })).toEqual([
      valueMistake('The name "one" cannot be used.', 'It should be a number.', ['names', 'one'], true),
    ]);
  });
});

describe('keys', () => {
  const missing = (key: string, belongs: string, path: readonly (string | number)[]) => ({
    code: 'shape.missing',
    message: `The key "${key}" is missing.`,
    why: `It belongs to ${belongs}.`,
    path,
    onKey: false,
  });

  it('when one is missing then it is said where it belongs', () => {
    expect(mistakes({})).toEqual([missing('name', 'the field "place"', ['name'])]);
    expect(mistakes({ name: 'x', inside: {} })).toEqual([missing('depth', '"inside"', ['inside', 'depth'])]);
    expect(mistakes({ name: 'x', rows: [{}] })).toEqual([missing('give', '"rows.0"', ['rows', 0, 'give'])]);
  });

  it('when several are not known then each is said at its own place, with the one that was meant', () => {
    const unknown = mistakes({ name: 'x', bist: 1, inside: { depth: 1, deph: 2 }, rows: [{ give: 1, gives: 2 }] });
    expect(unknown.map(({ path }) => path)).toEqual([['bist'], ['inside', 'deph'], ['rows', 0, 'gives']]);
    expect(unknown[0]).toMatchObject({
      code: 'shape.unknown-key',
      message: 'The key "bist" is not known here.',
      why: expect.stringContaining('bits'),
      onKey: true,
    });
    const long = 'k'.repeat(70);
    expect(mistakes({ name: 'x', [long]: 1 })[0]!.message).toBe(`The key "${'k'.repeat(64)}" is not known here.`);
    expect(checkShape(schema, { name: 'x', bist: 1 }, 'it').output).toBeNull();
  });

  it('when there are very many mistakes then a hundred of each kind are said', () => {
    const keys = Object.fromEntries(Array.from({ length: 150 }, (_, i) => [`k${i}`, i]));
    expect(mistakes({ name: 'x', ...keys })).toHaveLength(100);
    expect(mistakes({ name: 'x', rows: Array.from({ length: 150 }, () => ({ give: 'y' })) })).toHaveLength(100);
  });
});
