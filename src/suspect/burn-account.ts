// The account that a burn by a sound writer gives of a readback, which any fault has to be shorter than.
import { type Before, heldAt } from './burn-world.js';
import type { ReadbackCase } from './readback-case.js';

/** What it costs to tell a byte where another was expected, or none; FF may stand nearly everywhere, and tells a bit all the same. */
const bitsToTell = (c: ReadbackCase, a: number, expected: number): number => {
  const byte = c.actual[a]!;
  if (expected === -1) return c.defined[a] === 1 ? 0 : c.supposedBits[byte]!;
  return expected === byte ? 0 : Math.max(1, c.bitsOf[byte]!);
};

/** What a sound writer leaves at an address that it has written. */
const soundAt = (c: ReadbackCase, before: Before, a: number): number =>
  c.defined[a] === 1 ? c.wanted[a]! : heldAt(c, before, a);

/** Length of the account by a sound writer, wherever that stopped at best, in bits. */
export const soundAccount = (c: ReadbackCase, before: Before): number => {
  let bits = 0;
  for (let a = 0; a < c.cells; a++) bits += bitsToTell(c, a, heldAt(c, before, a));
  let least = bits;
  for (let a = 0; a < c.cells; a++) {
    bits += bitsToTell(c, a, soundAt(c, before, a)) - bitsToTell(c, a, heldAt(c, before, a));
    least = Math.min(least, bits);
  }
  return least;
};

/** The same where it left out any cells, here and there; what the image does not define is left out of account. */
export const patchedAccount = (c: ReadbackCase, before: Before): number => {
  let bits = 0;
  for (let a = 0; a < c.cells; a++)
    if (c.defined[a] === 1)
      bits += Math.min(bitsToTell(c, a, heldAt(c, before, a)), bitsToTell(c, a, soundAt(c, before, a)));
  return bits;
};
