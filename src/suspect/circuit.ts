// A ROM in the builder's circuit as far as a person can see it: settings to choose, and what each then lights.
import type { LineName, WiringFault } from '../chip/wiring-fault.js';
import type { Image } from '../image/image.js';
import type { Field } from '../plan/table.js';
import { byteTable, type MapStep, steps } from './line-map.js';
import { soundWiring, type Wiring } from './wiring.js';

/** One address that the circuit visits at a setting, and what a byte at its data lines then lights (one mask a byte, 256). */
export interface View {
  readonly address: number;
  readonly lit: Uint32Array;
}

/** A setting of all fields that a person can set. The scanned ones run through all their values by themselves. */
export interface Question {
  readonly index: number;
  readonly values: ReadonlyMap<string, number>;
  /** `level=37 mode=signed` */
  readonly words: string;
  /** Digits from left to right; for lines, every setting of the scanned fields. */
  readonly views: readonly View[];
}

/** What a person sees: digits of seven segments and a point (a = bit 0 .. g = bit 6, point = bit 7), or named lines. */
export type Shows =
  | {
      readonly kind: 'digits';
      readonly count: number;
      readonly hasPoint: boolean;
      segmentsOf(letter: string): number | null;
    }
  | { readonly kind: 'lines'; readonly names: readonly string[] };

export type SettableField = Omit<Field, 'scanned'>;

export interface Circuit {
  readonly name: string;
  readonly image: Image;
  readonly addressLines: number;
  readonly fields: readonly SettableField[];
  readonly shows: Shows;
  readonly questions: readonly Question[];
  /** What a line carries, in the builder's words: "reading bit 3". */
  readonly carries: ReadonlyMap<LineName, string>;
}

/** What lights: one mask a digit, or one mask of lines; -1 where the image leaves it open. */
export type Sight = readonly number[];

/** A suspicion ready to be tried at any setting. */
export interface Hypothesis {
  readonly faults: readonly WiringFault[];
  readonly address: readonly MapStep[];
  readonly table: Uint8Array;
}

export const hypothesisOf = (faults: readonly WiringFault[], wiring: Wiring): Hypothesis => ({
  faults,
  address: wiring.address,
  table: byteTable(wiring.data),
});

export const healthyHypothesis = hypothesisOf([], soundWiring);

/** What a person sees at a setting if the hypothesis is true. */
export const sightOf = (circuit: Circuit, h: Hypothesis, question: Question): Sight => {
  const { bytes, defined } = circuit.image;
  const seen = question.views.map(({ address, lit }) => {
    const from = steps(h.address, address);
    return defined[from] === 1 ? lit[h.table[bytes[from]!]!]! : -1;
  });
  if (circuit.shows.kind === 'digits') return seen;
  return [seen.includes(-1) ? -1 : seen.reduce((all, mask) => all | mask, 0)];
};

/**
 * A number for what is seen, equal for equal sights; for weighing questions, where it has to be quick. Different sights
 * share a number about once in four thousand million times. What the image leaves open may look like anything, so that sights
 * with so many open digits count as one.
 */
export const sightNumber = (circuit: Circuit, h: Hypothesis, question: Question): number => {
  const { bytes, defined } = circuit.image;
  const { views } = question;
  const digits = circuit.shows.kind === 'digits';
  let number = 0;
  let lines = 0;
  let open = 0;
  for (let i = 0; i < views.length; i++) {
    const { address, lit } = views[i]!;
    const from = steps(h.address, address);
    const mask = defined[from] === 1 ? lit[h.table[bytes[from]!]!]! : -1;
    if (mask === -1) open++;
    if (digits) number = (Math.imul(number, 0x01000193) + mask + 1) | 0;
    else if (mask === -1) return -1;
    else lines |= mask;
  }
  if (open > 0) return -open;
  return digits ? number : lines;
};

/** True for the number of a sight of which the image leaves something open. */
export const isOpen = (number: number, { views }: Question): boolean => number < 0 && number >= -views.length;
