// What may go wrong around the mock writer, as data: a list can be drawn by seed, printed, cut down and replayed.
import type { Random } from '../../src/ground/random.js';

export type Way = 'to-writer' | 'to-host';

/** Something on the wire. `at` counts the bytes sent that way since the mock was made, from 0. */
export type WireMishap = { readonly way: Way; readonly at: number } & (
  | { readonly kind: 'lost'; readonly count: number }
  | { readonly kind: 'flipped'; readonly bit: number }
  | { readonly kind: 'doubled' }
  /** This byte and all after it come later: a line in odd pieces, or late as a whole. */
  | { readonly kind: 'late'; readonly ms: number }
  /** Bytes that nobody sent come before this one. */
  | { readonly kind: 'noise'; readonly bytes: readonly number[] }
  /** The cable is pulled after this byte. */
  | { readonly kind: 'unplugged' }
);

/** Something in the writer. `line` counts the lines that it heard since the mock was made, from 1. */
export type WriterMishap =
  /** The line is heard twice. */
  | { readonly kind: 'repeated'; readonly line: number }
  /** The writer restarts on hearing this line, and does not act on it. */
  | { readonly kind: 'resets'; readonly line: number }
  /** The writer does and says nothing more until the next reset. */
  | { readonly kind: 'hangs'; readonly line: number }
  /** The answer to this line starts later. */
  | { readonly kind: 'slow'; readonly line: number; readonly ms: number }
  /** Supply lost in the middle of write cycle number `cycle` (from 1): the cells being written hold anything. */
  | { readonly kind: 'browns-out'; readonly cycle: number };

export type Mishap = WireMishap | WriterMishap;

export const isWireMishap = (mishap: Mishap): mishap is WireMishap => 'way' in mishap;

/** About how much happens in a run, so that a drawn mishap has a chance to strike. */
export interface RunSize {
  readonly bytesToWriter: number;
  readonly bytesToHost: number;
  readonly lines: number;
  readonly cycles: number;
}

export type MishapKind = Mishap['kind'];
const anyKind: readonly MishapKind[] = [
  'lost',
  'flipped',
  'doubled',
  'late',
  'noise',
  'unplugged',
  'repeated',
  'resets',
  'hangs',
  'slow',
  'browns-out',
];

/** `count` mishaps of the given kinds, placed at random. */
export function drawMishaps(
  random: Random,
  count: number,
  size: RunSize,
  kinds: readonly MishapKind[] = anyKind,
): Mishap[] {
  return Array.from({ length: count }, () => drawMishap(random, random.pick(kinds), size));
}

/** One mishap of this kind, placed at random. */
export function drawMishap(random: Random, kind: MishapKind, size: RunSize): Mishap {
  const line = 1 + random.below(size.lines);
  const way = random.pick<Way>(['to-writer', 'to-host']);
  const at = random.below(way === 'to-writer' ? size.bytesToWriter : size.bytesToHost);
  switch (kind) {
    case 'lost':
      return { kind, way, at, count: 1 + random.below(random.chance(0.7) ? 3 : 200) };
    case 'flipped':
      return { kind, way, at, bit: random.below(8) };
    case 'doubled':
    case 'unplugged':
      return { kind, way, at };
    case 'late':
      return { kind, way, at, ms: random.pick([1, 16, 200, 1000]) };
    case 'noise':
      return { kind, way, at, bytes: [...random.bytes(1 + random.below(40))] };
    case 'repeated':
    case 'resets':
    case 'hangs':
      return { kind, line };
    case 'slow':
      return { kind, line, ms: random.pick([100, 600, 3000]) };
    case 'browns-out':
      return { kind, cycle: 1 + random.below(Math.max(1, size.cycles)) };
  }
}
