// Bytes that change from pass to pass, and the one line that would make them.
import { type Candidate, candidate } from './candidate.js';
import { type Prediction, predictionBy, type ReadbackCase } from './readback-case.js';

export interface Unsteadiness {
  /** Addresses that the image defines and whose byte was not the same in all passes. */
  readonly addresses: readonly number[];
  /** Data lines that changed there. */
  readonly bits: number;
  /** How many addresses changed that the image does not define; they are no evidence. */
  readonly undefinedCount: number;
}

export const unsteadinessOf = (c: ReadbackCase, passes: readonly Uint8Array[]): Unsteadiness => {
  const addresses: number[] = [];
  let bits = 0;
  let undefinedCount = 0;
  for (let a = 0; a < c.cells; a++) {
    let changed = 0;
    for (const pass of passes) changed |= pass[a]! ^ c.actual[a]!;
    if (changed === 0) continue;
    if (c.defined[a] !== 1) {
      undefinedCount++;
      continue;
    }
    addresses.push(a);
    bits |= changed;
  }
  return { addresses, bits, undefinedCount };
};

/** As read where `allowed`, else what was wanted, so that the fit counts what an unsteady cause cannot make. */
const asReadWhere = (c: ReadbackCase, allowed: (address: number) => boolean): Prediction =>
  predictionBy(c, (a) => {
    if (c.defined[a] !== 1) return -1;
    return allowed(a) ? c.actual[a]! : c.wanted[a]!;
  });

/** Bytes seen at both levels of an unsteady address line before it is named from a single pass. */
const seenMin = 8;
/** A line that wanders has each level at more than one byte of so many (our choice, no source). */
const wanderingShare = 16;

/**
 * An open address line that wanders: every byte, in every pass, is one of the two that the line's levels give, and both occur.
 * Where the image defines only one of the two, the other may be anything: such an address neither tells nor contradicts.
 */
export const wanderingAddressCandidates = (c: ReadbackCase, passes: readonly Uint8Array[]): Candidate[] => {
  const found: Candidate[] = [];
  const readAlike =
    passes.length > 1 && passes.every((pass) => pass.every((byte, a) => c.defined[a] !== 1 || byte === c.actual[a]));
  for (let line = 0; line < c.addressLines; line++) {
    const bit = 1 << line;
    let right = 0;
    let wrong = 0;
    const byLevel: [number, number] = [0, 0];
    const isKnown = (a: number): boolean => c.defined[a] === 1 && c.defined[a ^ bit] === 1;
    const gives = (a: number): boolean => {
      if (!isKnown(a)) return true;
      const own = c.wanted[a]!;
      const other = c.wanted[a ^ bit]!;
      return passes.every((pass) => {
        const byte = pass[a]!;
        if (own !== other) {
          if (byte === own) right++;
          else if (byte === other) wrong++;
          byLevel[((a & bit) !== 0) === (byte === own) ? 1 : 0]++;
        }
        return byte === own || byte === other;
      });
    };
    let contradicted = false;
    for (let a = 0; a < c.cells && !contradicted; a++) contradicted = !gives(a);
    if (contradicted || right < seenMin || wrong < seenMin) continue;
    const hasChanged = passes.length > 1 && !readAlike;
    const isWandering = hasChanged || Math.min(...byLevel) * wanderingShare > right + wrong;
    // Passes that are all the same show that nothing wanders.
    if (isWandering && readAlike) continue;
    const one = candidate(
      c,
      {
        kind: 'open',
        faults: [{ kind: 'open', line: `A${line}` }],
        cost: 3,
        cause: {
          is: 'wandering',
          line: `A${line}`,
          low: byLevel[0],
          high: byLevel[1],
          right,
          wrong,
          isSteady: !isWandering,
        },
      },
      predictionBy(c, (a) => (isKnown(a) ? c.actual[a]! : -1)),
    );
    found.push(one.fit.silent.length === 0 ? coveringAll(one) : one);
  }
  return found;
};

/** Where more than one cell in so many changes it is hardly the cells. */
const manyShare = 4;

/** Cells or one data line that read differently from pass to pass while everything steady is as wanted. */
export const unsteadyCandidates = (c: ReadbackCase, passes: readonly Uint8Array[], u: Unsteadiness): Candidate[] => {
  if (u.addresses.length === 0) return [];
  const unsteady = new Set(u.addresses);
  const count = u.addresses.length;
  const everRight = u.addresses.every((a) => passes.some((pass) => pass[a] === c.wanted[a]));
  const found: Candidate[] = [];
  const offTheLine = (a: number): number => (c.wanted[a]! ^ c.actual[a]!) & ~u.bits;
  const oneLine = (u.bits & (u.bits - 1)) === 0;
  // A whole line that wanders does so at many addresses; a few weak cells may share a data line by chance.
  if (oneLine && u.addresses.length >= Math.max(seenMin, c.compared / 64)) {
    const line = 31 - Math.clz32(u.bits);
    found.push(
      candidate(
        c,
        {
          kind: 'open',
          faults: [{ kind: 'open', line: `D${line}` }],
          cause: { is: 'flickering', line: `D${line}`, addresses: count },
        },
        asReadWhere(c, (a) => offTheLine(a) === 0),
      ),
    );
  }
  if (everRight)
    found.push(
      candidate(
        c,
        {
          kind: 'unsteady',
          cause: { is: 'unsteady', count, first: u.addresses[0]!, many: count > c.compared / manyShare },
          cost: 2,
        },
        asReadWhere(c, (a) => unsteady.has(a)),
      ),
    );
  return found.map(coveringAll).filter((one) => one.fit.exact);
};

/** The first pass may happen to be as wanted, so that there is nothing to explain in it: here exact means that nothing is left over. */
const coveringAll = (one: Candidate): Candidate => ({
  ...one,
  fit: { ...one.fit, exact: one.fit.contradicted.length === 0 && one.fit.silent.length === 0 },
});
