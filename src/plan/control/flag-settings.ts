// Settings of the flags, numbered, and sets of them said in few words.
import type { Field } from '../table.js';
import { canHave, everyValue, numberOfBits } from '../value-range.js';

export interface Flag extends Field {
  /** Where this flag stands in the number of a setting. */
  readonly shift: number;
}

export interface FlagSpace {
  readonly flags: readonly Flag[];
  /** How many settings there are: 2^(bits of all flags). */
  readonly size: number;
}

/** One byte a setting: 1 where the setting belongs to the set. */
export type Settings = Uint8Array;

export function flagSpace(fields: readonly Field[]): FlagSpace {
  let shift = 0;
  const flags = fields.map((field) => {
    const flag = { ...field, shift };
    shift += field.bits;
    return flag;
  });
  return { flags, size: 2 ** shift };
}

export const valueIn = (flag: Flag, setting: number): number => (setting >>> flag.shift) & (2 ** flag.bits - 1);

/** `flag=value` in the builder's own name for the value, where there is one. */
export const flagValue = (flag: Field, value: number): string =>
  `${flag.name}=${flag.names.get(value) ?? numberOfBits(flag, value)}`;

/** False where a flag would carry a value that its field never has. */
export const canBe = (space: FlagSpace, setting: number): boolean =>
  space.flags.every((flag) => canHave(flag, valueIn(flag, setting)));

/** Every flag of one setting: "dark=1 calm=0". */
export const settingInWords = (space: FlagSpace, setting: number): string =>
  space.flags.map((flag) => flagValue(flag, valueIn(flag, setting))).join(' ');

/** The bits of one flag in the number of a setting. */
export const bitsOf = (flag: Flag): number => (2 ** flag.bits - 1) << flag.shift;

/** All settings that differ from one in `from` only in the bits of `free`, as far as they are `possible`. */
export function freed(from: Settings, free: number, possible: Settings): Settings {
  const reached = from.slice();
  for (let bit = 1; bit <= free; bit *= 2) {
    if ((free & bit) === 0) continue;
    for (const s of from.keys()) if (reached[s] === 1) reached[s ^ bit] = 1;
  }
  return reached.map((r, s) => r & possible[s]!);
}

/**
 * A set in few words: "dark=1", "dark=0 full=1 or dark=1 calm=1"; empty where the set holds every setting that counts.
 * Settings outside `counting` may be counted in or out, whichever is shorter to say.
 */
export function settingsInWords(space: FlagSpace, set: Settings, counting: Settings): string {
  const parts = cubes(space, set, counting).map((cube) => cube.join(' '));
  return parts.length <= 3 ? parts.join(' or ') : `${parts.slice(0, 2).join(' or ')} or ${parts.length - 2} others`;
}

/** The set as disjoint groups of `flag=value`, found by splitting on the flags that matter, in their order. */
export function cubes(space: FlagSpace, set: Settings, counting: Settings): string[][] {
  const counted = [...counting.keys()].filter((s) => counting[s] === 1);
  const matters = (flag: Flag): boolean => {
    // Settings that are equal apart from this flag must agree, or the flag matters.
    const seen = new Map<number, number>();
    return counted.some((s) => {
      const rest = s & ~bitsOf(flag);
      const first = seen.get(rest) ?? set[s]!;
      seen.set(rest, first);
      return first !== set[s];
    });
  };
  const first = space.flags.filter(matters);
  const order = [...first, ...space.flags.filter((flag) => !first.includes(flag))];
  const split = (members: readonly number[], depth: number): string[][] => {
    if (!members.some((s) => set[s] === 1)) return [];
    if (members.every((s) => set[s] === 1)) return [[]];
    const flag = order[depth]!;
    return everyValue(flag).flatMap((value) =>
      split(
        members.filter((s) => valueIn(flag, s) === value),
        depth + 1,
      ).map((cube) => [flagValue(flag, value), ...cube]),
    );
  };
  return split(counted, 0);
}
