// Sets of flag settings in few words: whatever is said must mean the set again.
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { cubes, flagSpace, settingsInWords } from '../../../src/plan/control/flag-settings.js';
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
      }),
    );
  });

  it.each([
    ['all settings', (): boolean => true, ''],
    ['one flag', (dark: number): boolean => dark === 1, 'dark=1'],
    ['one value of a wide flag', (_: number, wind: number): boolean => wind === 2, 'wind=2'],
    ['two flags', (dark: number, _: number, full: number): boolean => dark === 0 && full === 1, 'dark=0 full=1'],
    ['either', (dark: number, _: number, full: number): boolean => dark === 1 || full === 1, 'dark=0 full=1 or dark=1'],
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
