// Sets of flag settings in few words: whatever is said must mean the set again.
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { cubes, flagSpace, freed, settingsInWords } from '../../../src/plan/control/flag-settings.js';
import { fieldsOf } from './compiled.js';

const space = flagSpace([...fieldsOf({ dark: 1, wind: 2, full: 1 }).values()]);
const all = new Uint8Array(space.size).fill(1);
const bits = fc.uint8Array({ minLength: space.size, maxLength: space.size, max: 1 });

/** Reads "dark=1 wind=2" back. */
const holds = (cube: readonly string[], setting: number): boolean =>
  cube.every((part) => {
    const [name, value] = part.split('=');
    const flag = space.flags.find((f) => f.name === name)!;
    return ((setting >> flag.shift) & (2 ** flag.bits - 1)) === Number(value);
  });

describe('when a set of settings is said in words', () => {
  it('then each setting that counts is in one group if it is in the set, else in none', () => {
    fc.assert(
      fc.property(bits, bits, (set, counting) => {
        const groups = cubes(space, set, counting);
        for (let s = 0; s < space.size; s++) {
          if (counting[s] === 1) expect(groups.filter((cube) => holds(cube, s))).toHaveLength(set[s]!);
        }
        const names = groups.map((cube) => cube.map((part) => part.split('=')[0]));
        for (const named of names) expect(named).toEqual([...new Set(named)]);
      }),
    );
  });

  it.each([
    ['all settings', (): boolean => true, ''],
    ['one flag', (dark: number): boolean => dark === 1, 'dark=1'],
    ['one value of a wide flag', (_: number, wind: number): boolean => wind === 2, 'wind=2'],
    ['two flags', (dark: number, _: number, full: number): boolean => dark === 0 && full === 1, 'dark=0 full=1'],
    ['either', (dark: number, _: number, full: number): boolean => dark === 1 || full === 1, 'dark=0 full=1 or dark=1'],
    ['three values', (_: number, wind: number): boolean => wind < 3, 'wind=0 or wind=1 or wind=2'],
    [
      'many values',
      (_: number, wind: number, full: number): boolean => wind !== full,
      'wind=0 full=1 or wind=1 full=0 or 2 others',
    ],
  ])('and it is %s then nothing else is said', (_, rule, words) => {
    const set = Uint8Array.from(all, (__, s) => (rule(s & 1, (s >> 1) & 3, s >> 3) ? 1 : 0));
    expect(settingsInWords(space, set, all)).toBe(words);
  });

  it('and settings do not count then they may be left out of the words', () => {
    const set = Uint8Array.from(all, (_, s) => (s === 1 ? 1 : 0));
    const counting = Uint8Array.from(all, (_, s) => (s < 2 ? 1 : 0));
    expect(settingsInWords(space, set, counting)).toBe('dark=1');
  });
});

describe('when flags may change', () => {
  // Numbers of settings: dark is bit 0, wind bits 1 and 2, full bit 3.
  const setOf = (...settings: readonly number[]): Uint8Array =>
    Uint8Array.from(all, (_, s) => (settings.includes(s) ? 1 : 0));

  it.each([
    ['none', 0, [5], [5]],
    ['dark', 0b0001, [5], [4, 5]],
    ['wind', 0b0110, [5], [1, 3, 5, 7]],
    ['full', 0b1000, [5], [5, 13]],
    ['dark and full', 0b1001, [5], [4, 5, 12, 13]],
    ['dark, from two settings,', 0b0001, [5, 8], [4, 5, 8, 9]],
  ])('and it is %s then every setting is reached that differs in nothing else', (_, free, from, reached) => {
    expect(freed(setOf(...from), free, all)).toEqual(setOf(...reached));
  });

  it('then settings that cannot be are not reached, but lead on', () => {
    const possible = Uint8Array.from(all, (_, s) => (s === 4 ? 0 : 1));
    expect(freed(setOf(5), 0b1001, possible)).toEqual(setOf(5, 12, 13));
  });

  it('then the settings that it begins with are left as they are', () => {
    const from = setOf(5);
    freed(from, 0b1001, all);
    expect(from).toEqual(setOf(5));
  });
});
