// The wiring between a reader and a chip as two maps, and what a reader sees through it.
import { type LineName, linesOf, type WiringFault } from '../chip/wiring-fault.js';
import { busOf, type MapStep, type OpenLevel, stepOf } from './line-map.js';

/** Steps that an address takes from reader to chip, and a byte from chip to reader. */
export interface Wiring {
  readonly address: readonly MapStep[];
  readonly data: readonly MapStep[];
}

export const soundWiring: Wiring = { address: [], data: [] };

const high: OpenLevel = () => 1;

/**
 * Faults as wiring, in their order from the reader to the chip: an address meets the first fault first, a byte on its way
 * back meets it last. The order matters only where two faults share a line.
 * Null where an address line and a data line are joined: that is no map, since the address then depends on the byte.
 */
export const wiringOf = (faults: readonly WiringFault[], openLevel: OpenLevel = high): Wiring | null => {
  const address: MapStep[] = [];
  const data: MapStep[] = [];
  for (const fault of faults) {
    const s = stepOf(fault, openLevel);
    if (s === null) return null;
    if (busOf(linesOf(fault)[0]!) === 'A') address.push(s);
    else data.unshift(s);
  }
  return { address, data };
};

/** Two shorts that share a line and agree on who wins, taken as one net of all three lines; null for any other pair. */
export const netOf = (one: WiringFault, other: WiringFault): Wiring | null => {
  if (one.kind !== 'shorted' || other.kind !== 'shorted' || one.wins !== other.wins) return null;
  const { address, data } = wiringOf([one, other])!;
  const [first, second] = address.length === 2 ? address : data;
  if (first === undefined || second === undefined || (first.p & second.p) === 0) return null;
  const net: MapStep[] = [{ kind: one.wins === 'low' ? 'all' : 'any', p: first.p | second.p }];
  return address.length === 2 ? { address: net, data: [] } : { address: [], data: net };
};

const pairsOf = <T>(list: readonly T[]): (readonly [T, T])[] =>
  list.flatMap((one, i) => list.slice(i + 1).map((other) => [one, other] as const));

export const addressLineNames = (count: number): LineName[] =>
  Array.from({ length: count }, (_, i): LineName => `A${i}`);
export const dataLineNames: readonly LineName[] = Array.from({ length: 8 }, (_, i): LineName => `D${i}`);

/** Every single fault on one bus: stuck and inverted lines, crossed and shorted pairs. Open lines look stuck and are named beside them. */
export const singleFaultsOn = (lines: readonly LineName[]): WiringFault[] => [
  ...lines.flatMap((line): WiringFault[] => [
    { kind: 'stuck', line, level: 0 },
    { kind: 'stuck', line, level: 1 },
    { kind: 'inverted', line },
  ]),
  ...pairsOf(lines).flatMap((pair): WiringFault[] => [
    { kind: 'crossed', lines: pair },
    { kind: 'shorted', lines: pair, wins: 'low' },
    { kind: 'shorted', lines: pair, wins: 'high' },
  ]),
];

/** Every single fault of a chip with so many address lines and eight data lines. */
export const singleFaults = (addressLines: number): WiringFault[] => [
  ...singleFaultsOn(addressLineNames(addressLines)),
  ...singleFaultsOn(dataLineNames),
];

/** A number of address lines for a chip of so many cells (a power of two). */
export const addressLinesFor = (cells: number): number => Math.round(Math.log2(cells));
