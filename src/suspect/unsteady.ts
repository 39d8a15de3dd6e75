// Bytes that change from pass to pass, and the one line that would make them.
import { addressText, countOf } from '../ground/quantity.js';
import { type Candidate, candidate } from './candidate.js';
import { verbFor } from './fault-words.js';
import type { Prediction, ReadbackCase } from './readback-case.js';

export interface Unsteadiness {
  /** Addresses whose byte was not the same in all passes. */
  readonly addresses: readonly number[];
  /** Data lines that changed somewhere. */
  readonly bits: number;
}

export const unsteadinessOf = (passes: readonly Uint8Array[]): Unsteadiness => {
  const first = passes[0]!;
  const addresses: number[] = [];
  let bits = 0;
  for (let a = 0; a < first.length; a++) {
    let changed = 0;
    for (const pass of passes) changed |= pass[a]! ^ first[a]!;
    if (changed !== 0) addresses.push(a);
    bits |= changed;
  }
  return { addresses, bits };
};

/** As read where `allowed`, else what was wanted, so that the fit counts what an unsteady cause cannot make. */
const asReadWhere = (c: ReadbackCase, allowed: (address: number) => boolean): Prediction =>
  Int16Array.from({ length: c.cells }, (_, a) => {
    if (allowed(a)) return c.actual[a]!;
    return c.defined[a] === 1 ? c.wanted[a]! : -1;
  });

/** Bytes seen at both levels of an unsteady address line before it is named from a single pass. */
const seenMin = 8;

/** An open address line that wanders: every byte, in every pass, is one of the two that the line's levels give, and both occur. */
export const wanderingAddressCandidates = (c: ReadbackCase, passes: readonly Uint8Array[]): Candidate[] => {
  const found: Candidate[] = [];
  for (let line = 0; line < c.addressLines; line++) {
    const bit = 1 << line;
    let right = 0;
    let wrong = 0;
    const gives = (a: number): boolean => {
      const own = c.defined[a] === 1 ? c.wanted[a]! : -1;
      const other = c.defined[a ^ bit] === 1 ? c.wanted[a ^ bit]! : -1;
      return passes.every((pass) => {
        const byte = pass[a]!;
        if (own !== other) {
          if (byte === own) right++;
          else if (byte === other) wrong++;
        }
        return byte === own || byte === other || own === -1 || other === -1;
      });
    };
    let contradicted = false;
    for (let a = 0; a < c.cells && !contradicted; a++) contradicted = !gives(a);
    if (contradicted || right < seenMin || wrong < seenMin) continue;
    found.push(
      coveringAll(
        candidate(
          c,
          {
            kind: 'open',
            faults: [{ kind: 'open', line: `A${line}` }],
            text: `Address line A${line} is open and wanders: each byte is the one for A${line} low or the one for A${line} high.`,
            cost: 3,
            evidence: [
              `Of the bytes that tell, ${right} came with the right level of A${line} and ${wrong} with the wrong one.`,
            ],
            next: `Read several passes (\`romkiln dump --passes 4\`): an open line changes between them. Then follow A${line} with a meter.`,
          },
          asReadWhere(c, () => true),
        ),
      ),
    );
  }
  return found;
};

/** Cells or one data line that read differently from pass to pass while everything steady is as wanted. */
export const unsteadyCandidates = (c: ReadbackCase, passes: readonly Uint8Array[], u: Unsteadiness): Candidate[] => {
  if (u.addresses.length === 0) return [];
  const unsteady = new Set(u.addresses);
  const count = u.addresses.length;
  const everRight = u.addresses.every((a) => c.defined[a] !== 1 || passes.some((pass) => pass[a] === c.wanted[a]));
  const found: Candidate[] = [];
  const offTheLine = (a: number): number => (c.defined[a] === 1 ? (c.wanted[a]! ^ c.actual[a]!) & ~u.bits : 0);
  const oneLine = (u.bits & (u.bits - 1)) === 0;
  // A whole line that wanders does so at many addresses; a few weak cells may share a data line by chance.
  if (oneLine && u.addresses.length >= Math.max(seenMin, c.cells / 64)) {
    const line = 31 - Math.clz32(u.bits);
    found.push(
      candidate(
        c,
        {
          kind: 'open',
          faults: [{ kind: 'open', line: `D${line}` }],
          text: `Data line D${line} is open or has a bad contact: it reads differently from pass to pass, all other lines read as wanted.`,
          cost: 1,
          evidence: [
            `${countOf(u.addresses.length, 'address', 'addresses')} changed between passes, always in D${line} alone.`,
          ],
          next: `Press the chip into its socket and read again; then follow D${line} with a meter.`,
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
          text: `${countOf(count, 'cell')} ${verbFor(count, 'reads', 'read')} differently from pass to pass, first ${addressText(u.addresses[0]!, c.cells)}; ${verbFor(count, 'it', 'each')} was right at least once.`,
          cost: 2,
          evidence: ['All cells that read the same in every pass are as wanted.'],
          next: `Burn ${verbFor(count, 'this cell', 'these cells')} again; if ${verbFor(count, 'it stays', 'they stay')} unsteady, check the supply (100 nF at the chip), then take another chip.`,
        },
        asReadWhere(c, (a) => unsteady.has(a)),
      ),
    );
  return found.map(coveringAll).filter((one) => one.fit.exact);
};

/** The first pass may happen to be as wanted, so that there is nothing to explain in it: here exact means that nothing is left over. */
const coveringAll = (one: Candidate): Candidate => ({
  ...one,
  fit: { ...one.fit, exact: one.fit.unexplained.length === 0 },
});
