// One readback beside the image that was wanted, prepared so that thousands of suspicions can be tried on it.
import { ToolError } from '../ground/errors.js';
import type { Image } from '../image/image.js';
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
}

/** A suspicion's byte for every address; -1 where the wanted image does not say enough. */
export type Prediction = Int16Array;

export interface Fit {
  readonly explains: number;
  readonly unexplained: readonly number[];
  readonly exact: boolean;
}

const isPowerOfTwo = (n: number): boolean => n > 0 && (n & (n - 1)) === 0;

/** Up to `count` of `list`, evenly spread. */
const spread = (list: readonly number[], count: number): number[] =>
  list.length <= count
    ? [...list]
    : Array.from({ length: count }, (_, i) => list[Math.floor((i * list.length) / count)]!);

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
  for (let a = 0; a < cells; a++) {
    if (defined[a] !== 1) continue;
    (bytes[a] === readback[a] ? equal : differing).push(a);
  }
  const probes = Uint32Array.from([...spread(differing, 96), ...spread(equal, 96)]);
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

/** The byte of every address when `from` says which cell answers; -1 for none. */
export const predictionOf = (c: ReadbackCase, from: (address: number) => number, table?: Uint8Array): Prediction =>
  predictionBy(c, (a) => {
    const cell = from(a);
    if (cell < 0 || c.defined[cell] !== 1) return -1;
    const byte = c.wanted[cell]!;
    return table === undefined ? byte : table[byte]!;
  });

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

/**
 * How a prediction fits. Exact: nothing contradicts it, and the bytes that it alone explains (differing ones, and undefined
 * cells that hold what it predicts) are at least as many as the differing ones of which it says nothing.
 */
export const fitOf = (c: ReadbackCase, prediction: Prediction): Fit => {
  let explains = 0;
  let support = 0;
  let contradictions = 0;
  const unexplained: number[] = [];
  for (let a = 0; a < c.cells; a++) {
    const predicted = prediction[a]!;
    const differs = c.defined[a] === 1 && c.wanted[a] !== c.actual[a];
    if (predicted === c.actual[a]) {
      if (differs) explains++;
      if (differs || c.defined[a] !== 1) support++;
    } else if (predicted !== -1) {
      contradictions++;
      unexplained.push(a);
    } else if (differs) unexplained.push(a);
  }
  return { explains, unexplained, exact: contradictions === 0 && support > 0 && support >= unexplained.length };
};
