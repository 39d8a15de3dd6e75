// The tests of data and address lines as steps that a job can perform. Published code: M. Barr, "Software-Based Memory
// Testing", Embedded Systems Programming, July 2000 (code text read, issue date from memory).

import type { ByteLoad } from '../chip/byte-load.js';
import type { Part } from '../chip/part.js';
import { steps as throughSteps } from './line-map.js';

export type BusStep =
  | { readonly kind: 'write'; readonly address: number; readonly byte: number }
  /** `expected`: what sound wiring reads; null where the published code reads and does not judge. */
  | { readonly kind: 'read'; readonly address: number; readonly expected: number | null };

const write = (address: number, byte: number): BusStep => ({ kind: 'write', address, byte });
const read = (address: number, expected: number | null): BusStep => ({ kind: 'read', address, expected });

/** What the writer drives on the data lines while it reads them itself: all low, all high, walking ones. */
export const drivenBytes: readonly number[] = [0x00, 0xff, ...Array.from({ length: 8 }, (_, j) => 1 << j)];

/** Walking ones at one cell: eight writes, eight reads. */
export const dataBusTest = (address = 0): BusStep[] =>
  Array.from({ length: 8 }, (_, j) => 1 << j).flatMap((byte) => [write(address, byte), read(address, byte)]);

const pattern = 0xaa;
const antipattern = 0x55;

/**
 * The address lines of a chip with `lines` of them: 3n + 2 writes and n² + 2n reads, at address 0 and at the powers of two.
 * Finds lines stuck high, stuck low and joined.
 */
export const addressBusTest = (lines: number): BusStep[] => {
  const powers = Array.from({ length: lines }, (_, i) => 2 ** i);
  return [
    ...powers.map((p) => write(p, pattern)),
    write(0, antipattern),
    ...powers.map((p) => read(p, pattern)),
    write(0, pattern),
    ...powers.flatMap((tested) => [
      write(tested, antipattern),
      read(0, pattern),
      ...powers.map((p) => read(p, p === tested ? null : pattern)),
      write(tested, pattern),
    ]),
  ];
};

/** What to write over a page so that every cell changes, and a cell that was not reached shows it. */
export const pageWitnessBytes = (before: Uint8Array): Uint8Array => before.map((byte) => ~byte);

const loads = (top: number, pairs: readonly (readonly [number, number])[]): ByteLoad[] =>
  pairs.map(([address, byte]) => ({ address: address & top, byte }));

const opening = [
  [0x5555, 0xaa],
  [0x2aaa, 0x55],
] as const;

/** The codes that switch software data protection on and off, cut to the part's size (Atmel AT28C256 and AT28C64B data sheets). */
export const protectionCodes = (
  part: Part,
): { readonly on: readonly ByteLoad[]; readonly off: readonly ByteLoad[] } => ({
  on: loads(part.cells - 1, [...opening, [0x5555, 0xa0]]),
  off: loads(part.cells - 1, [...opening, [0x5555, 0x80], ...opening, [0x5555, 0x20]]),
});

/** The same loads as they arrive at the chip. */
export const arriving = (
  list: readonly ByteLoad[],
  address: Parameters<typeof throughSteps>[0],
  toChip: Uint8Array,
): ByteLoad[] => list.map((l) => ({ address: throughSteps(address, l.address), byte: toChip[l.byte]! }));

export const sameLoads = (one: readonly ByteLoad[], other: readonly ByteLoad[]): boolean =>
  one.length === other.length && one.every((l, i) => l.address === other[i]!.address && l.byte === other[i]!.byte);
