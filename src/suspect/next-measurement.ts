// What to measure to be sure of a suspicion, or to decide between two that fit equally well.

import { type LineName, linesOf } from '../chip/wiring-fault.js';
import type { Candidate } from './candidate.js';
import type { Measurement } from './explanation.js';
import { byteTable, type MapStep, steps } from './line-map.js';
import { soundWiring, type Wiring } from './wiring.js';

const mapOf = (address: readonly MapStep[], value: number, top: number): number => steps(address, value) & top;

/** A held address at which the two wirings put another level on a pin of the chip. */
const telling = (one: Wiring, other: Wiring, addressLines: number): { address: number; line: number } | null => {
  const top = 2 ** addressLines - 1;
  for (let i = -1; i < addressLines; i++)
    for (let j = i; j < addressLines; j++)
      for (const flip of [0, top]) {
        const address = ((i < 0 ? 0 : 1 << i) | (j < 0 ? 0 : 1 << j)) ^ flip;
        const differs = mapOf(one.address, address, top) ^ mapOf(other.address, address, top);
        if (differs !== 0) return { address, line: 31 - Math.clz32(differs & -differs) };
      }
  return null;
};

/** A stored byte that the two wirings show differently. */
const tellingByte = (one: Wiring, other: Wiring): { byte: number; shows: number; otherwise: number } | null => {
  const [a, b] = [byteTable(one.data), byteTable(other.data)];
  for (let byte = 0; byte < 256; byte++) if (a[byte] !== b[byte]) return { byte, shows: a[byte]!, otherwise: b[byte]! };
  return null;
};

/** Decides between two wirings; null when they are the same map, so that no level on any pin differs. */
const decides = (one: Wiring, other: Wiring, rival: 'other' | 'sound', addressLines: number): Measurement | null => {
  const at = telling(one, other, addressLines);
  if (at !== null) {
    const level = (steps(one.address, at.address) >> at.line) & 1 ? 1 : 0;
    return { is: 'level', address: at.address, line: `A${at.line}` as LineName, level, rival };
  }
  const byte = tellingByte(one, other);
  return byte === null ? null : { is: 'byte', ...byte, rival };
};

/** The measurement for one candidate among those that fit equally well. */
export const nextMeasurement = (one: Candidate, rivals: readonly Candidate[], addressLines: number): Measurement => {
  const fault = one.faults[0];
  const { wiring } = one;
  if (wiring === null || one.kind === 'permutation') return { is: 'by-cause' };
  for (const rival of rivals) {
    if (rival.wiring === null) continue;
    const found = decides(wiring, rival.wiring, 'other', addressLines);
    if (found !== null) return found;
    // The two read alike, so the line itself has to be asked.
    if (fault?.kind === 'open' || fault?.kind === 'stuck') return { is: 'open-or-stuck', line: fault.line };
  }
  return decides(wiring, soundWiring, 'sound', addressLines) ?? { is: 'follow', lines: one.faults.flatMap(linesOf) };
};
