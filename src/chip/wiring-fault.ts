// Names and spelling of wiring faults: the emulator makes them, suspect infers them, and both say them in these words.

/** One line between the chip and what drives it. */
export type LineName = `A${number}` | `D${number}`;

export type WiringFault =
  /** An address line reads a level of its own at the chip; a data line keeps its last charge. */
  | { readonly kind: 'open'; readonly line: LineName }
  | { readonly kind: 'stuck'; readonly line: LineName; readonly level: 0 | 1 }
  | { readonly kind: 'inverted'; readonly line: LineName }
  | { readonly kind: 'crossed'; readonly lines: readonly [LineName, LineName] }
  /** Two lines joined: both carry the AND (low wins) or the OR (high wins) of the two. */
  | { readonly kind: 'shorted'; readonly lines: readonly [LineName, LineName]; readonly wins: 'low' | 'high' };
