// A plan's pin lists as the wiring really is, when lines are crossed: the image then follows the board.
import type { FieldPins, Permutation } from './explanation.js';
import { byteTable, steps } from './line-map.js';
import type { Wiring } from './wiring.js';

/**
 * `fields` with every pin moved to where the line really goes: an address signal meant for pin p arrives at `address[p]`;
 * what is meant to come from data pin p comes from the pin whose line arrives there.
 */
export const correctedPins = (permutation: Permutation, fields: readonly FieldPins[]): FieldPins[] =>
  fields.map(({ field, bus, pins }) => ({
    field,
    bus,
    pins: pins.map((pin) => (bus === 'A' ? (permutation.address[pin] ?? pin) : permutation.data.indexOf(pin))),
  }));

/** The permutation that a wiring of crossed lines alone makes; null when it has any other step. */
export const permutationOfWiring = (wiring: Wiring, addressLines: number): Permutation | null => {
  if ([...wiring.address, ...wiring.data].some((s) => s.kind !== 'swap')) return null;
  const table = byteTable(wiring.data);
  return {
    address: Array.from({ length: addressLines }, (_, i) => Math.log2(steps(wiring.address, 1 << i))),
    data: Array.from({ length: 8 }, (_, j) => Math.log2(table[1 << j]!)),
  };
};
