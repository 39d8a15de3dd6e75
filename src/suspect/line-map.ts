// What wiring does to a number on its way: one small step a fault, in the order in which the number meets them.
import type { LineName, WiringFault } from '../chip/wiring-fault.js';

/** One step on the lines of one bus; `p` and `q` are masks of lines. */
export type MapStep =
  /** Lines in `p` are tied to the levels in `q`. */
  | { readonly kind: 'tie'; readonly p: number; readonly q: number }
  | { readonly kind: 'invert'; readonly p: number }
  /** The line `p` and the line `q` change places. */
  | { readonly kind: 'swap'; readonly p: number; readonly q: number }
  /** All lines in `p` joined: low unless all are high. */
  | { readonly kind: 'all'; readonly p: number }
  /** All lines in `p` joined: high as soon as one is high. */
  | { readonly kind: 'any'; readonly p: number };

/** `value` after one step. Runs millions of times in a search, hence plain bit operations. */
export const step = (s: MapStep, value: number): number => {
  switch (s.kind) {
    case 'tie':
      return (value & ~s.p) | s.q;
    case 'invert':
      return value ^ s.p;
    case 'swap':
      return ((value & s.p) !== 0) === ((value & s.q) !== 0) ? value : value ^ (s.p | s.q);
    case 'all':
      return (value & s.p) === s.p ? value : value & ~s.p;
    case 'any':
      return (value & s.p) !== 0 ? value | s.p : value;
  }
};

export const steps = (list: readonly MapStep[], value: number): number => {
  let mapped = value;
  for (const s of list) mapped = step(s, mapped);
  return mapped;
};

const everyByte = Uint8Array.from({ length: 256 }, (_, byte) => byte);

/** All 256 bytes after these steps. */
export const byteTable = (list: readonly MapStep[]): Uint8Array =>
  // A copy and a plain loop: a search makes thousands of these.
  list.length === 0 ? everyByte : everyByte.map((byte) => steps(list, byte));

export const busOf = (line: LineName): 'A' | 'D' => (line.startsWith('A') ? 'A' : 'D');
export const indexOf = (line: LineName): number => Number(line.slice(1));
const maskOf = (line: LineName): number => 1 << indexOf(line);

/**
 * The level that an open line shows. An open address line has a level of its own at the chip, the same from power-up on;
 * an open data line keeps the last charge that the reader's side put on it, and nothing drives it during a read.
 */
export type OpenLevel = (line: LineName) => 0 | 1;

/** One fault as a step on its bus. Faults that join an address line with a data line have no such step: null. */
export const stepOf = (fault: WiringFault, openLevel: OpenLevel): MapStep | null => {
  switch (fault.kind) {
    case 'open':
    case 'stuck': {
      const p = maskOf(fault.line);
      const level = fault.kind === 'stuck' ? fault.level : openLevel(fault.line);
      return { kind: 'tie', p, q: level === 1 ? p : 0 };
    }
    case 'inverted':
      return { kind: 'invert', p: maskOf(fault.line) };
    case 'crossed':
    case 'shorted': {
      const [one, other] = fault.lines;
      if (busOf(one) !== busOf(other)) return null;
      if (fault.kind === 'crossed') return { kind: 'swap', p: maskOf(one), q: maskOf(other) };
      return { kind: fault.wins === 'low' ? 'all' : 'any', p: maskOf(one) | maskOf(other) };
    }
  }
};
