// Seeded randomness: the same seed gives the same run everywhere. Algorithm: mulberry32 (public domain; from memory).

export interface Random {
  /** A float in [0, 1). */
  next(): number;
  /** A whole number in [0, below). */
  below(below: number): number;
  /** True with this probability. */
  chance(probability: number): boolean;
  /** One element of a non-empty list. */
  pick<T>(list: readonly T[]): T;
  /** `count` random bytes. */
  bytes(count: number): Uint8Array;
}

export function seededRandom(seed: number): Random {
  let state = seed >>> 0;
  const next = (): number => {
    state = (state + 0x6d2b79f5) >>> 0;
    let t = state;
    t = Math.imul(t ^ (t >>> 15), t | 1);
    t ^= t + Math.imul(t ^ (t >>> 7), t | 61);
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  };
  const below = (n: number): number => Math.floor(next() * n);
  return {
    next,
    below,
    chance: (p) => next() < p,
    pick: (list) => list[below(list.length)]!,
    bytes: (count) => Uint8Array.from({ length: count }, () => below(256)),
  };
}
