// A plan's pin lists as the wiring really is, when lines are crossed: the image then follows the board.
import type { Rom } from '../plan/rom.js';
import type { CorrectedPins, Permutation } from './explanation.js';
import { byteTable, steps } from './line-map.js';
import type { Wiring } from './wiring.js';

/**
 * The pins of `rom` moved to where the lines really go: what is meant for address pin p arrives at `address[p]`; what is
 * expected from data pin k comes from the pin whose line arrives there.
 */
export const correctedPins = ({ address, data }: Permutation, rom: Rom): CorrectedPins => ({
  address: rom.address.map((_, pin) => rom.address[address.indexOf(pin)]!),
  data: rom.data.map((_, pin) => rom.data[data[pin]!]!),
});

/** The permutation that a wiring of crossed lines alone makes; null when it has any other step. */
export const permutationOfWiring = (wiring: Wiring, addressLines: number): Permutation | null => {
  if ([...wiring.address, ...wiring.data].some((s) => s.kind !== 'swap')) return null;
  const table = byteTable(wiring.data);
  return {
    address: Array.from({ length: addressLines }, (_, i) => Math.log2(steps(wiring.address, 1 << i))),
    data: Array.from({ length: 8 }, (_, j) => Math.log2(table[1 << j]!)),
  };
};
