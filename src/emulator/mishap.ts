// Mishaps as data: what goes wrong, and where it strikes. Each strikes once.

/** A place in a bench's life, counted from its start. */
export type Place =
  | { readonly cycle: number }
  /** While the n-th write cycle of the chip (from 1) is under way, so many microseconds after it began. */
  | { readonly writeCycle: number; readonly afterUs: number }
  /** At the n-th byte (from 1) that the host sends, or that the writer sends. */
  | BytePlace;

export type BytePlace = { readonly byteToWriter: number } | { readonly byteToHost: number };

/** A mishap of a single byte on the line. */
export type ByteMishap =
  | { readonly kind: 'byte-lost'; readonly at: BytePlace }
  | { readonly kind: 'byte-doubled'; readonly at: BytePlace }
  | { readonly kind: 'bit-flipped'; readonly at: BytePlace; readonly bit: number };

/** A mishap of the whole board. */
export type BoardMishap =
  /** The bench loses power and has it again after `offMs`. */
  | { readonly kind: 'power-cut'; readonly at: Place; readonly offMs: number }
  /** The writer is reset; or it stands still until it is reset; or the port is gone until `plugIn`. */
  | { readonly kind: 'writer-reset' | 'writer-hang' | 'unplugged'; readonly at: Place };

export type BenchMishap = ByteMishap | BoardMishap;

export const isByteMishap = (m: BenchMishap): m is ByteMishap =>
  m.kind === 'byte-lost' || m.kind === 'byte-doubled' || m.kind === 'bit-flipped';

/** What becomes of one byte on the line under the mishaps that strike it. */
export function afterMishaps(byte: number, mishaps: readonly ByteMishap[]): readonly number[] {
  let bytes: readonly number[] = [byte];
  for (const m of mishaps) {
    if (m.kind === 'byte-lost') bytes = [];
    else if (m.kind === 'bit-flipped') bytes = bytes.map((b) => b ^ (1 << (m.bit & 7)));
    else bytes = bytes.flatMap((b) => [b, b]);
  }
  return bytes;
}
