// The difference of a wanted image and what was actually read: where, which bits, which address lines. Linear in the cells.
import { hexOfBytes } from '../ground/byte-text.js';
import { type Image, imageOfBytes } from './image.js';
import type { Range } from './range.js';

/** Neighbouring cells that all differ; both ends included, the bytes as hexadecimal of equal length. */
export interface DifferenceRun extends Range {
  readonly wanted: string;
  readonly actual: string;
}

/** How often one data bit was wrong, and in which direction. */
export interface BitCount {
  readonly bit: number;
  readonly count: number;
  /** Wanted 0, actual 1. */
  readonly zeroToOne: number;
  /** Wanted 1, actual 0. */
  readonly oneToZero: number;
}

/** How many differing cells have this address line low, and how many high. */
export interface AddressLineCount {
  readonly line: number;
  readonly low: number;
  readonly high: number;
  /** It is low at some of the compared cells and high at others: else what differs tells nothing of it. */
  readonly varies: boolean;
}

export interface Difference {
  /** True when every compared cell is there and equal. */
  readonly same: boolean;
  /** Cells compared: defined in the wanted image, in the range, and there in the actual one. */
  readonly compared: number;
  /** Compared cells that differ. */
  readonly bytes: number;
  readonly runs: readonly DifferenceRun[];
  /** Cells of the range that the wanted image does not define. */
  readonly undefinedCells: number;
  /** Cells that the wanted image defines and the actual one does not have. */
  readonly missingCells: number;
  /** Data bits 0 to 7. */
  readonly byBit: readonly BitCount[];
  /** Address lines 0 up, as many as the larger image needs. */
  readonly byAddressLine: readonly AddressLineCount[];
}

/** Compares the defined cells of `wanted` inside `range` (all where it is not given) with `actual`. */
export function differenceOf(wanted: Image, actual: Uint8Array | Image, range?: Range): Difference {
  const other = actual instanceof Uint8Array ? imageOfBytes(wanted.name, actual) : actual;
  const cells = Math.max(wanted.bytes.length, other.bytes.length);
  const from = range?.from ?? 0;
  const end = Math.min(cells, (range?.to ?? cells - 1) + 1);
  const tally = new Tally(cells);
  const runs: Range[] = [];
  let [compared, undefinedCells, missingCells, runStart] = [0, 0, 0, -1];
  let [comparedHigh, comparedLow] = [0, 0];
  for (let cell = from; cell < end; cell++) {
    let differs = false;
    if (wanted.defined[cell] !== 1) undefinedCells += 1;
    else if (other.defined[cell] !== 1) missingCells += 1;
    else {
      compared += 1;
      comparedHigh |= cell;
      comparedLow |= ~cell;
      differs = wanted.bytes[cell] !== other.bytes[cell];
    }
    if (differs) {
      tally.add(cell, wanted.bytes[cell]!, other.bytes[cell]!);
      if (runStart < 0) runStart = cell;
    } else if (runStart >= 0) {
      runs.push({ from: runStart, to: cell - 1 });
      runStart = -1;
    }
  }
  if (runStart >= 0) runs.push({ from: runStart, to: end - 1 });
  // Spelled once and cut: spelling each run on its own is a hundred times slower when every second cell differs (measured).
  const spelled = (image: Image): ((r: Range) => string) => {
    const all = runs.length > 0 ? hexOfBytes(image.bytes) : '';
    return (r) => all.slice(2 * r.from, 2 * (r.to + 1));
  };
  const [wantedOf, actualOf] = [spelled(wanted), spelled(other)];
  return {
    same: tally.total === 0 && missingCells === 0,
    compared,
    bytes: tally.total,
    runs: runs.map((r) => ({ from: r.from, to: r.to, wanted: wantedOf(r), actual: actualOf(r) })),
    undefinedCells,
    missingCells,
    byBit: tally.byBit(),
    byAddressLine: tally.byAddressLine(comparedHigh & comparedLow),
  };
}

/** Counts in a few steps a difference: by pair of bytes, by low address byte and by row of 256; lines and bits come after. */
class Tally {
  total = 0;
  private readonly pairs = new Uint32Array(0x10000);
  private readonly columns = new Uint32Array(256);
  private readonly rows: Uint32Array;

  constructor(private readonly cells: number) {
    this.rows = new Uint32Array(Math.ceil(cells / 256));
  }

  add(cell: number, wanted: number, actual: number): void {
    this.total += 1;
    this.pairs[wanted * 256 + actual]! += 1;
    this.columns[cell & 0xff]! += 1;
    this.rows[cell >>> 8]! += 1;
  }

  byBit(): BitCount[] {
    const zeroToOne = new Array<number>(8).fill(0);
    const oneToZero = new Array<number>(8).fill(0);
    const seen = this.total > 0 ? this.pairs : this.pairs.subarray(0, 0);
    seen.forEach((count, pair) => {
      if (count === 0) return;
      const [wanted, actual] = [pair >> 8, pair & 0xff];
      for (let bit = 0; bit < 8; bit++) {
        if (~wanted & actual & (1 << bit)) zeroToOne[bit]! += count;
        if (wanted & ~actual & (1 << bit)) oneToZero[bit]! += count;
      }
    });
    return zeroToOne.map((rose, bit) => ({
      bit,
      count: rose + oneToZero[bit]!,
      zeroToOne: rose,
      oneToZero: oneToZero[bit]!,
    }));
  }

  /** `varying`: the address lines that have both levels among the compared cells. */
  byAddressLine(varying: number): AddressLineCount[] {
    const lines = Math.max(0, Math.ceil(Math.log2(this.cells)));
    return Array.from({ length: lines }, (_, line) => {
      const [counts, bit] = line < 8 ? [this.columns, line] : [this.rows, line - 8];
      const high = counts.reduce((sum, count, index) => (index & (1 << bit) ? sum + count : sum), 0);
      return { line, low: this.total - high, high, varies: ((varying >> line) & 1) === 1 };
    });
  }
}
