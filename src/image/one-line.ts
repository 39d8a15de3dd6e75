// A difference that is one data line's alone: what a stuck or broken wire leaves, and a worn chip hardly ever.
import type { Difference } from './difference.js';
import type { Image } from './image.js';
import type { Range } from './range.js';

export interface OneLine {
  /** The data line, 0 to 7. */
  readonly line: number;
  /** The level that it reads in every cell, also where the other is wanted; null where it reads now this, now that. */
  readonly level: 0 | 1 | null;
  /** Nothing differs on any other line. */
  readonly alone: boolean;
}

/**
 * The one data line on which all cells of a difference differ; null where there are several, or none, or a single cell, which
 * may be worn. Its level is told only
 * where both levels are wanted of the cells compared.
 */
export function oneLineOf(difference: Difference, wanted: Image, actual: Image, range: Range): OneLine | null {
  const [only, ...others] = difference.byBit.filter((b) => b.count > 0);
  if (!only || others.length > 0 || only.count < 2) return null;
  const mask = 1 << only.bit;
  const levels = { wanted: new Set<boolean>(), read: new Set<boolean>() };
  for (let cell = range.from; cell <= Math.min(range.to, wanted.bytes.length - 1); cell += 1) {
    if (wanted.defined[cell] !== 1 || actual.defined[cell] !== 1) continue;
    levels.wanted.add((wanted.bytes[cell]! & mask) !== 0);
    levels.read.add((actual.bytes[cell]! & mask) !== 0);
  }
  const isConstant = levels.read.size === 1 && levels.wanted.size === 2;
  return { line: only.bit, level: isConstant ? (levels.read.has(true) ? 1 : 0) : null, alone: true };
}

/**
 * The one data line that reads one level in every cell of a range where several cells want the other, while every other line
 * reads both; null where there is none, or where it may be by chance: of a blank chip all lines read 1.
 */
export function constantLine(wanted: Image, actual: Image, range: Range): OneLine | null {
  let [low, high] = [0, 0];
  const amiss = new Array<number>(8).fill(0);
  for (let cell = range.from; cell <= Math.min(range.to, wanted.bytes.length - 1); cell += 1) {
    if (actual.defined[cell] !== 1) continue;
    const byte = actual.bytes[cell]!;
    low |= ~byte;
    high |= byte;
    if (wanted.defined[cell] !== 1) continue;
    for (let line = 0; line < 8; line += 1) amiss[line]! += ((byte ^ wanted.bytes[cell]!) >> line) & 1;
  }
  const missing = 0xff & ~(low & high);
  const line = Math.log2(missing);
  if (!Number.isInteger(line) || amiss[line]! < 2) return null;
  return { line, level: high & missing ? 1 : 0, alone: false };
}

/** The same of a few cells that are known to differ; null for a single cell, which may be worn. */
export function oneLineOfCells(cells: readonly { readonly wanted: number; readonly actual: number }[]): OneLine | null {
  const mask = cells.reduce((bits, { wanted, actual }) => bits | (wanted ^ actual), 0);
  const line = Math.log2(mask);
  if (cells.length < 2 || !Number.isInteger(line)) return null;
  const high = cells.filter(({ actual }) => actual & mask).length;
  return { line, level: high === cells.length ? 1 : high === 0 ? 0 : null, alone: true };
}
