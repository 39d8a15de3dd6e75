// One readback beside the image that was wanted, prepared so that thousands of suspicions can be tried on it.
import { ToolError } from '../ground/errors.js';
import type { Image } from '../image/image.js';
import { popcount } from './bit-planes.js';
import { byteTable, type MapStep, steps } from './line-map.js';
import { addressLinesFor, type Wiring } from './wiring.js';

export interface ReadbackCase {
  readonly cells: number;
  readonly addressLines: number;
  readonly wanted: Uint8Array;
  /** 1 where the wanted byte is defined. */
  readonly defined: Uint8Array;
  readonly actual: Uint8Array;
  readonly compared: number;
  /** Defined addresses that read another byte, ascending. */
  readonly differing: readonly number[];
  /** A few telling addresses: a wrong suspicion fails at one of the first. */
  readonly probes: Uint32Array;
  /** What each byte tells where it is found, in bits: one that stands everywhere in the readback tells nothing. */
  readonly bitsOf: Float64Array;
  /** What it costs to suppose each byte in an undefined cell, in bits, by what the undefined addresses read. */
  readonly supposedBits: Float64Array;
}

/** A suspicion's byte for every address; -1 where it foretells none, since the wanted image does not say enough. */
export type Prediction = Int16Array;

export interface Fit {
  /** Differing addresses whose byte it foretells. */
  readonly explains: number;
  /** Addresses that the image does not define, at which it foretells from the image the byte that was read. */
  readonly elsewhere: number;
  /** Differing addresses of which it says nothing: they would read cells that the image does not define. */
  readonly silent: readonly number[];
  /** Addresses that read another byte than it foretells. */
  readonly contradicted: readonly number[];
  /** What it foretells is more than what it leaves to chance. */
  readonly tells: boolean;
  /** It tells, and nothing contradicts it. */
  readonly exact: boolean;
  /** Length of the account of the readback by it, in bits: its faults, and every byte that it does not foretell. The fewer, the likelier. */
  readonly bits: number;
}

const isPowerOfTwo = (n: number): boolean => n > 0 && (n & (n - 1)) === 0;

/** Up to `count` of `list`, evenly spread. */
const spread = (list: readonly number[], count: number): number[] =>
  list.length <= count
    ? [...list]
    : Array.from({ length: count }, (_, i) => list[Math.floor((i * list.length) / count)]!);

/** The information of each byte value by its share of these; a value that is not among them is not impossible. */
const informationOf = (bytes: Uint8Array): Float64Array => {
  const counts = new Float64Array(256);
  for (const byte of bytes) counts[byte]!++;
  return counts.map((count) => Math.log2((bytes.length + 1) / (count + 1 / 256)));
};

/**
 * Prepares a case. The readback is the whole chip (a power of two of bytes); a shorter image is undefined above its end.
 * Throws suspect.size.
 */
export const readbackCase = (wanted: Image, readback: Uint8Array): ReadbackCase => {
  const cells = readback.length;
  if (!isPowerOfTwo(cells) || wanted.bytes.length > cells)
    throw new ToolError('suspect.size', { image: wanted.name, imageBytes: wanted.bytes.length, readbackBytes: cells });
  const bytes = new Uint8Array(cells);
  bytes.set(wanted.bytes);
  const defined = new Uint8Array(cells);
  defined.set(wanted.defined);
  const differing: number[] = [];
  const equal: number[] = [];
  const open: number[] = [];
  for (let a = 0; a < cells; a++) {
    if (defined[a] !== 1) open.push(a);
    else (bytes[a] === readback[a] ? equal : differing).push(a);
  }
  const probes = Uint32Array.from([differing, equal, open].flatMap((addresses) => spread(addresses, 96)));
  const compared = differing.length + equal.length;
  return {
    cells,
    addressLines: addressLinesFor(cells),
    wanted: bytes,
    defined,
    actual: readback,
    compared,
    differing,
    probes,
    bitsOf: informationOf(readback),
    supposedBits: informationOf(readback.filter((_, a) => defined[a] !== 1)),
  };
};

/** True as soon as one byte read through this wiring would not be the one that was read. */
export const contradicts = (c: ReadbackCase, address: readonly MapStep[], table: Uint8Array): boolean => {
  const { wanted, defined, actual, probes, cells } = c;
  for (let i = 0; i < probes.length; i++) {
    const a = probes[i]!;
    const from = steps(address, a);
    if (defined[from] === 1 && table[wanted[from]!] !== actual[a]) return true;
  }
  for (let a = 0; a < cells; a++) {
    const from = steps(address, a);
    if (defined[from] === 1 && table[wanted[from]!] !== actual[a]) return true;
  }
  return false;
};

/**
 * The byte of every address when `from` says which cell answers (-1 for none), passed through `table`. An undefined cell holds
 * a byte that nobody knows, hence -1; but only one, so that an address is foretold the byte that another has read from the
 * same cell where it read something else, and any other byte where no byte passes `table` as the one that was read.
 */
export const predictionOf = (c: ReadbackCase, from: (address: number) => number, table?: Uint8Array): Prediction => {
  const readFrom = new Int16Array(c.cells).fill(-1);
  const passes = new Uint8Array(256);
  for (let byte = 0; byte < 256; byte++) passes[table?.[byte] ?? byte] = 1;
  return predictionBy(c, (a) => {
    const cell = from(a);
    if (cell < 0) return -1;
    if (c.defined[cell] === 1) return table === undefined ? c.wanted[cell]! : table[c.wanted[cell]!]!;
    const byte = c.actual[a]!;
    if (passes[byte] === 0) return byte ^ 0xff;
    const other = readFrom[cell]!;
    readFrom[cell] = byte;
    return other === -1 || other === byte ? -1 : other;
  });
};

/** The prediction that `byteAt` makes of every address. */
export const predictionBy = (c: ReadbackCase, byteAt: ByteAt): Prediction => {
  const prediction = new Int16Array(c.cells);
  for (let a = 0; a < c.cells; a++) prediction[a] = byteAt(a);
  return prediction;
};

export const predictionThrough = (c: ReadbackCase, wiring: Wiring): Prediction =>
  predictionOf(c, (a) => steps(wiring.address, a), byteTable(wiring.data));

/** Says the byte of an address, -1 where the wanted image does not say enough. */
export type ByteAt = (address: number) => number;

/** True when a telling address already contradicts; most suspicions end here. */
export const failsProbes = (c: ReadbackCase, byteAt: ByteAt): boolean =>
  c.probes.some((a) => {
    const byte = byteAt(a);
    return byte !== -1 && byte !== c.actual[a];
  });

/** Bits that name one fault: there are some 300 to choose from. */
export const faultBits = 9;

/**
 * How a prediction fits that takes `cost` faults. `care`: the data lines whose level it foretells; each of the others costs one
 * bit an address, so that one wrong bit does not make a line that floats.
 *
 * Undefined cells hold bytes that nobody knows, so whatever reads them fits by itself and is no evidence. The judgement is by
 * the shortest account: a byte that is foretold from the image is told for nothing, any other costs its bits; an address that
 * reads as wanted, though by the suspicion it reads an undefined cell, costs the bits of that chance. A suspicion that leaves
 * anything to undefined cells must save more bits than it takes to name it.
 */
export const fitOf = (c: ReadbackCase, prediction: Prediction, cost = 1, care = 0xff): Fit => {
  const silent: number[] = [];
  const contradicted: number[] = [];
  let explains = 0;
  let elsewhere = 0;
  let chances = 0;
  let saved = 0;
  let leftOver = 0;
  for (let a = 0; a < c.cells; a++) {
    const predicted = prediction[a]!;
    const byte = c.actual[a]!;
    const isDefined = c.defined[a] === 1;
    const isWanted = isDefined && c.wanted[a] === byte;
    if (predicted !== -1 && ((predicted ^ byte) & care) !== 0) contradicted.push(a);
    else if (predicted !== -1) {
      if (isWanted) continue;
      saved += c.bitsOf[byte]!;
      if (isDefined) explains++;
      else elsewhere++;
    } else {
      leftOver += c.supposedBits[byte]!;
      if (isWanted) {
        chances++;
        saved -= c.supposedBits[byte]!;
      } else if (isDefined) silent.push(a);
    }
  }
  const floating = popcount(0xff & ~care) * c.compared;
  const leavesNothing = silent.length === 0 && chances === 0 && floating === 0;
  const tells = leavesNothing ? explains > 0 : saved - floating > cost * faultBits;
  return {
    explains,
    elsewhere,
    silent,
    contradicted,
    tells,
    exact: contradicted.length === 0 && tells,
    bits: cost * faultBits + floating + leftOver,
  };
};
