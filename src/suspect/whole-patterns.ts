// Mistakes about the whole image: another image, another order, another polarity, or no chip at all.

import type { Image } from '../image/image.js';
import { type Candidate, candidate, ifExact } from './candidate.js';
import { heldBefore, type Supposed } from './held-before.js';
import type { ByteAt, ReadbackCase } from './readback-case.js';
import { dataLineNames } from './wiring.js';

const reverseBits = (byte: number): number => {
  let out = 0;
  for (let j = 0; j < 8; j++) if ((byte >> j) & 1) out |= 128 >> j;
  return out;
};

const wantedAt = (c: ReadbackCase, a: number): number => (c.defined[a] === 1 ? c.wanted[a]! : -1);

const eachByte =
  (c: ReadbackCase, change: (wanted: number) => number): ByteAt =>
  (a) =>
    c.defined[a] === 1 ? change(c.wanted[a]!) : -1;

/** Every byte complemented, or every byte's bits in reverse order. */
export const polarityCandidates = (c: ReadbackCase): Candidate[] => [
  ...ifExact(
    c,
    {
      kind: 'complement',
      cause: { is: 'complement' },
    },
    eachByte(c, (byte) => byte ^ 0xff),
  ),
  ...ifExact(
    c,
    {
      kind: 'reversed-bits',
      cause: { is: 'reversed-bits' },
      faults: [0, 1, 2, 3].map((j) => ({ kind: 'crossed', lines: [`D${j}`, `D${7 - j}`] }) as const),
      permutation: { address: Array.from({ length: c.addressLines }, (_, i) => i), data: [7, 6, 5, 4, 3, 2, 1, 0] },
    },
    eachByte(c, reverseBits),
  ),
];

/**
 * One byte everywhere. `followed` is the writer's presence mask where it is known: data lines that kept a charge of 00 and
 * of FF; all eight mean that nothing drives the bus.
 */
export const emptyCandidates = (c: ReadbackCase, followed: number | null): Candidate[] => {
  const byte = c.actual[0]!;
  if (c.actual.some((b) => b !== byte)) return [];
  const all = new Int16Array(c.cells).fill(byte);
  const found: Candidate[] = [];
  if (byte === 0xff && followed !== 0xff)
    found.push(candidate(c, { kind: 'blank', cause: { is: 'blank', byte, line: null } }, all));
  const low = dataLineNames.find((_, bit) => byte === (0xff & ~(1 << bit)));
  if (low !== undefined)
    found.push(
      candidate(
        c,
        {
          kind: 'stuck',
          faults: [{ kind: 'stuck', line: low, level: 0 }],
          cause: { is: 'blank', byte, line: low },
          cost: 2,
        },
        all,
      ),
    );
  if (followed === null || followed === 0xff)
    found.push(
      candidate(
        c,
        {
          kind: 'absent',
          cause: { is: 'absent', byte, isShown: followed === 0xff },
        },
        all,
      ),
    );
  return found;
};

/** The readback is another image of the same set; what that one does not define reads what was there before. */
export const swappedCandidates = (c: ReadbackCase, others: readonly Image[], before: Supposed): Candidate[] =>
  others.flatMap((other) => {
    const suspicion = {
      kind: 'swapped-images',
      cause: { is: 'another-image', name: other.name },
    } as const;
    const byOther = (a: number): number => (other.defined[a] === 1 ? other.bytes[a]! : -1);
    // What the other image says must show it; cells that it leaves alone show nothing, and only must not speak against it.
    if (ifExact(c, suspicion, byOther).length === 0) return [];
    const leftAlone = (a: number): number => (c.defined[a] === 1 ? heldBefore(before, a) : -1);
    return ifExact(c, suspicion, (a) => (other.defined[a] === 1 ? byOther(a) : leftAlone(a)));
  });

/** FF came in; at an address that the image does not define it would not be told from what was there anyway. */
const atEdge = (c: ReadbackCase, a: number): number => (c.defined[a] === 1 ? 0xff : -1);

/**
 * Distances by which the image may be off, the nearest first: those that bring the right byte to where the rarest one was read.
 * FF may have come in at the edge, and marks no place.
 */
const likelyShifts = (c: ReadbackCase): number[] => {
  let anchor = -1;
  for (let a = 0; a < c.cells; a++)
    if (c.actual[a] !== 0xff && (anchor < 0 || c.bitsOf[c.actual[a]!]! > c.bitsOf[c.actual[anchor]!]!)) anchor = a;
  const half = c.cells / 2;
  const shifts: number[] = [];
  for (let a = 0; a < c.cells; a++) {
    if (anchor < 0 || a === anchor || (c.defined[a] === 1 && c.wanted[a] !== c.actual[anchor])) continue;
    const by = anchor - a;
    shifts.push(by > half ? by - c.cells : by < -half ? by + c.cells : by);
  }
  return [...new Set(shifts)].sort((one, other) => Math.abs(one) - Math.abs(other));
};

/** The image too high or too low; what came in at the edge is FF, or what left at the other end. */
export const shiftCandidates = (c: ReadbackCase): Candidate[] => {
  const top = c.cells - 1;
  for (const by of likelyShifts(c)) {
    const shifted = (edge: 'wrapped' | 'erased') => ({ kind: 'shifted', cause: { is: 'shifted', by, edge } }) as const;
    const found = [
      ...ifExact(c, shifted('wrapped'), (a) => wantedAt(c, (a - by) & top)),
      ...ifExact(c, shifted('erased'), (a) => (a - by < 0 || a - by > top ? atEdge(c, a) : wantedAt(c, a - by))),
    ];
    if (found.length > 0) return found;
  }
  return [];
};
