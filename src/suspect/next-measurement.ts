// What to measure to be sure of a suspicion, or to decide between two that fit equally well.

import { type LineName, linesOf } from '../chip/wiring-fault.js';
import { hex } from '../ground/byte-text.js';
import { addressText } from '../ground/quantity.js';
import type { Candidate } from './candidate.js';
import { busOf, byteTable, indexOf, type MapStep, steps } from './line-map.js';
import type { Wiring } from './wiring.js';

const levelOf = (value: number, line: number): string => ((value >> line) & 1 ? 'high' : 'low');

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
const tellingByte = (one: Wiring, other: Wiring): { byte: number; shows: number; else: number } | null => {
  const a = byteTable(one.data);
  const b = byteTable(other.data);
  for (let byte = 0; byte < 256; byte++) if (a[byte] !== b[byte]) return { byte, shows: a[byte]!, else: b[byte]! };
  return null;
};

const holdWords = (address: number, addressLines: number): string => {
  const words = addressText(address, 2 ** addressLines);
  return `Hold address ${words} (\`romkiln hold ${words}\`)`;
};

/** "Hold address 0x000, then 0x010, where A4 is high (`romkiln hold 0x000`, `romkiln hold 0x010`)": an address line at both levels. */
export const holdBothLevels = (line: LineName, addressLines: number): string => {
  const [low, high] = [0, 2 ** indexOf(line)].map((address) => addressText(address, 2 ** addressLines));
  return `Hold address ${low}, then ${high}, where ${line} is high (\`romkiln hold ${low}\`, \`romkiln hold ${high}\`)`;
};

/** Decides between two wirings; null when they are the same map, so that no level on any pin differs. */
const decides = (one: Wiring, other: Wiring, addressLines: number): string | null => {
  const at = telling(one, other, addressLines);
  if (at !== null) {
    const level = levelOf(steps(one.address, at.address), at.line);
    return `${holdWords(at.address, addressLines)} and measure A${at.line} at the chip: ${level} speaks for this explanation, ${level === 'high' ? 'low' : 'high'} for the other.`;
  }
  const byte = tellingByte(one, other);
  if (byte !== null)
    return `Read a chip that holds ${hex(byte.byte)} somewhere: ${hex(byte.shows)} speaks for this explanation, ${hex(byte.else)} for the other.`;
  return null;
};

/** Open or stuck: the two read alike, so the line itself has to be asked. */
const openOrStuck = (line: LineName, addressLines: number): string =>
  busOf(line) === 'A'
    ? `${holdBothLevels(line, addressLines)}, and measure ${line} at the writer and at the chip: an open line moves at the writer alone.`
    : `Take the chip out and run \`romkiln rig --empty\`: it finds ${line} if it is stuck; if it finds nothing wrong, the line is open.`;

/** The sentence for one candidate among those that fit equally well. */
export const nextMeasurement = (one: Candidate, rivals: readonly Candidate[], addressLines: number): string => {
  if (one.next !== null) return one.next;
  const fault = one.faults[0];
  for (const rival of rivals) {
    if (one.wiring === null || rival.wiring === null) continue;
    const sentence = decides(one.wiring, rival.wiring, addressLines);
    if (sentence !== null) return sentence;
    if (fault?.kind === 'open' || fault?.kind === 'stuck') return openOrStuck(fault.line, addressLines);
  }
  if (fault !== undefined && one.wiring !== null) {
    const sound = decides(one.wiring, { address: [], data: [] }, addressLines);
    if (sound !== null) return sound.replace('for the other', 'for sound wiring');
  }
  return fault === undefined
    ? 'Read again, and compare.'
    : `Follow ${linesOf(fault).join(' and ')} from the reader to the chip with a meter.`;
};
