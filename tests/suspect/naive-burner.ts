// Burns through faulty wires, played load by load and apart from the product's own model, to judge what it says of them.
import type { WiringFault } from '../../src/chip/wiring-fault.js';
import type { Image } from '../../src/image/image.js';
import type { Explanation } from '../../src/suspect/explanation.js';
import { arrives, readNaively } from './naive-reader.js';

/** How a chip takes the loads of one write cycle that name several pages. */
export type PageRule = 'named last' | 'named first';

export interface NaiveBurn {
  readonly image: Image;
  /** What the chip truly holds before. */
  readonly held: Uint8Array;
  /** Bytes of a page; 1 for a chip that is written cell by cell. */
  readonly page: number;
  readonly pageRule: PageRule;
  /** Wires of the writer that burns, from the writer to the chip. */
  readonly wires: readonly WiringFault[];
  /** Compares each block with what it reads, leaves alone what is right, tries again once and gives up after four failures in a row; or does none of this. */
  readonly compares: boolean;
  /** Goes on however often a block fails, and tries none again. */
  readonly persists?: boolean;
  /** Somebody pulls the plug: no block at or above this address is sent. */
  readonly pulledAt?: number;
}

const blockBytes = (page: number): number => (page === 1 ? 64 : page);
const failuresMost = 4;

const onAddress = (wires: readonly WiringFault[]): WiringFault[] =>
  wires.filter((f) => ('lines' in f ? f.lines[0] : f.line).startsWith('A'));
const onData = (wires: readonly WiringFault[]): WiringFault[] =>
  wires.filter((f) => !('lines' in f ? f.lines[0] : f.line).startsWith('A'));

/** The chip's cells after the burn. */
export function burnNaively({
  image,
  held,
  page,
  pageRule,
  wires,
  compares,
  persists,
  pulledAt,
}: NaiveBurn): Uint8Array {
  const cells = held.slice();
  const lines = Math.log2(cells.length);
  const toCell = Array.from(cells, (_, a) => arrives(a, 'A', lines, onAddress(wires)));
  const toChip = Array.from({ length: 256 }, (_, byte) => arrives(byte, 'D', 8, onData(wires)));
  const back = [...onData(wires)].reverse();
  const toWriter = Array.from({ length: 256 }, (_, byte) => arrives(byte, 'D', 8, back));
  const read = (a: number): number => toWriter[cells[toCell[a]!]!]!;
  const seen = Uint8Array.from(cells, (_, a) => read(a));
  const isWrong = (a: number): boolean => image.defined[a] === 1 && image.bytes[a] !== seen[a];

  const cycle = (loads: readonly number[], bytes: Uint8Array): void => {
    const latch = pageRule === 'named last' ? loads.at(-1)! : loads[0]!;
    const base = toCell[latch]! - (toCell[latch]! % page);
    for (const a of loads) cells[base + (toCell[a]! % page)] = toChip[bytes[a]!]!;
  };

  /** False where a byte that was sent does not read back. */
  const write = (addresses: readonly number[], bytes: Uint8Array): boolean => {
    if (page > 1) {
      cycle(addresses, bytes);
      return addresses.every((a) => read(a) === bytes[a]);
    }
    for (const a of addresses) {
      cycle([a], bytes);
      if (compares && read(a) !== bytes[a]) return false;
    }
    return true;
  };

  const sent = Uint8Array.from(cells, (_, a) => (image.defined[a] === 1 ? image.bytes[a]! : seen[a]!));
  const blocks: number[][] = [];
  for (let start = 0; start < Math.min(cells.length, pulledAt ?? cells.length); start += blockBytes(page)) {
    const all = Array.from({ length: blockBytes(page) }, (_, i) => start + i);
    const [first, last] = [all.findIndex(isWrong), all.findLastIndex(isWrong)];
    const block = compares ? (first < 0 ? [] : all.slice(first, last + 1)) : all.filter((a) => image.defined[a] === 1);
    if (block.length > 0) blocks.push(block);
  }
  const failed: number[][] = [];
  let inARow = 0;
  for (const block of blocks) {
    const took = write(block, sent);
    if (!compares || persists) continue;
    if (!took) failed.push(block);
    inARow = took ? 0 : inARow + 1;
    if (inARow === failuresMost) return cells;
  }
  inARow = 0;
  for (const block of failed) {
    inARow = write(block, sent) ? 0 : inARow + 1;
    if (inARow === failuresMost) break;
  }
  return cells;
}

const usualPages = [1, 16, 32, 64, 128, 256] as const;

/** An open line floats at one level or the other, which is all that a stuck one does. */
const levelsOf = (fault: WiringFault): readonly WiringFault[] =>
  fault.kind === 'open' ? [0, 1].map((level) => ({ kind: 'stuck', line: fault.line, level: level as 0 | 1 })) : [fault];

/** What is read after such a burn; -1 where that depends on what nobody knows. */
const readAfter = (burn: Omit<NaiveBurn, 'held'>, before: Uint8Array | null, isReadThrough: boolean): Int16Array => {
  const { image, wires } = burn;
  const helds = before === null ? [0x00, 0xff].map((byte) => image.bytes.map(() => byte)) : [before];
  // A cell that the image leaves open holds what nobody knows as well.
  const fills = [0x00, 0xff].flatMap((fill) =>
    helds.map((held) => held.map((byte, a) => (image.defined[a] === 1 ? byte : fill))),
  );
  const [first, ...others] = fills.map((held) => {
    const cells = burnNaively({ ...burn, held });
    return isReadThrough ? readNaively(cells, wires) : cells;
  });
  return Int16Array.from(first!, (byte, a) => (others.every((other) => other[a] === byte) ? byte : -1));
};

/**
 * True where a burn through the wires that the explanation names, played again here by some writer and some chip, leaves what
 * was read. `before`: what the chip held; FF, and then unknown bytes, are supposed without it. Null where it blames no burn,
 * or one of which any blocks were lost.
 */
export function burnsAgain(
  image: Image,
  readback: Uint8Array,
  { cause, faults }: Explanation,
  before: Uint8Array | null,
): boolean | null {
  if (cause.is !== 'wires' || cause.when === 'reading' || cause.blocksWritten !== null) return null;
  const defined = Uint8Array.from(readback, (_, a) => image.defined[a] ?? 0);
  const bytes = Uint8Array.from(readback, (_, a) => image.bytes[a] ?? 0);
  const whole = { ...image, bytes, defined };
  const pulledAt = cause.stoppedAt ?? undefined;
  // Told bytes were read through the wires, and may say nothing of cells that these do not reach.
  const helds = [before ?? readback.map(() => 0xff), null];
  for (const wires of levelsOf(faults[0]!).map((one) => [one]))
    for (const page of usualPages)
      for (const pageRule of page === 1 ? (['named last'] as const) : (['named last', 'named first'] as const))
        for (const compares of [true, false])
          for (const held of helds) {
            const burn = { image: whole, page, pageRule, wires, compares, ...(pulledAt && { pulledAt }) };
            for (const persists of compares ? [true, false] : [true]) {
              const after = readAfter({ ...burn, persists }, held, cause.when === 'both');
              if (after.every((byte, a) => byte === -1 || byte === readback[a])) return true;
            }
          }
  return false;
}
