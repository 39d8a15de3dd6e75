// This writer's wires between its own lines and the chip's pins, with the faults that were set: bits in, bits out.
import { type LineName, linesOf, type WiringFault } from '../chip/wiring-fault.js';

const bitOf = (line: LineName): number => Number(line.slice(1));
const isAddress = (line: LineName): boolean => line.startsWith('A');

/** Puts `level` (0 or 1) on one bit. */
const withBit = (value: number, bit: number, level: number): number => (value & ~(1 << bit)) | (level << bit);

/** One fault on a bundle of lines. Symmetric, so that it serves both directions of the data lines. */
function applied(fault: WiringFault, value: number): number {
  if (fault.kind === 'stuck') return withBit(value, bitOf(fault.line), fault.level);
  if (fault.kind === 'inverted') return value ^ (1 << bitOf(fault.line));
  if (fault.kind === 'open') return value;
  const [first, second] = [bitOf(fault.lines[0]), bitOf(fault.lines[1])];
  const a = (value >> first) & 1;
  const b = (value >> second) & 1;
  if (fault.kind === 'crossed') return withBit(withBit(value, first, b), second, a);
  const joined = fault.wins === 'low' ? a & b : a | b;
  return withBit(withBit(value, first, joined), second, joined);
}

const maskOf = (faults: readonly WiringFault[], kind: 'open' | 'stuck'): number =>
  faults.reduce((mask, f) => (f.kind === kind ? mask | (1 << bitOf(f.line)) : mask), 0);

export class FaultyWiring {
  readonly #address: readonly WiringFault[];
  readonly #openAddress: number;
  readonly #toChip: Uint8Array;
  readonly #fromChip: Uint8Array;
  readonly #joined: readonly WiringFault[];
  /** Data lines that are open: neither end hears the other. */
  readonly openData: number;
  /** Data lines that are stuck, and their levels: so they read even when nobody drives. */
  readonly stuckData: number;
  readonly stuckLevels: number;
  /** Data lines on which the writer's own outputs may lose: stuck ones, and those that are joined with another. */
  readonly overruledData: number;

  /** `ownLevels`: what the chip's end of each address line reads when the line is open, A0 in bit 0. */
  constructor(
    faults: readonly WiringFault[],
    private readonly ownLevels: number,
  ) {
    this.#address = faults.filter((f) => linesOf(f).every(isAddress));
    this.#openAddress = maskOf(this.#address, 'open');
    const data = faults.filter((f) => !linesOf(f).some(isAddress));
    this.openData = maskOf(data, 'open');
    this.stuckData = maskOf(data, 'stuck');
    this.stuckLevels = data.reduce((levels, f) => applied(f, levels), 0) & this.stuckData;
    this.#joined = data.filter((f) => f.kind === 'shorted');
    this.overruledData = this.#joined
      .flatMap(linesOf)
      .reduce((mask, line) => mask | (1 << bitOf(line)), this.stuckData);
    this.#toChip = Uint8Array.from({ length: 256 }, (_, v) => data.reduce((value, f) => applied(f, value), v));
    this.#fromChip = Uint8Array.from({ length: 256 }, (_, v) => data.reduceRight((value, f) => applied(f, value), v));
  }

  /** What the chip's address pins read when the writer puts out `address`. */
  address(address: number): number {
    if (this.#address.length === 0) return address;
    const through = this.#address.reduce((value, f) => applied(f, value), address);
    return (through & ~this.#openAddress) | (this.ownLevels & this.#openAddress);
  }

  /** What the chip's data pins read when the writer drives `levels`; `chipCharge` is what open pins kept. */
  toChip(levels: number, chipCharge: number): number {
    return (this.#toChip[levels]! & ~this.openData) | (chipCharge & this.openData);
  }

  /** What the writer's data lines carry when only the writer, or the charge it left, puts `levels` on them. */
  joined(levels: number): number {
    return this.#joined.reduce((value, f) => applied(f, value), levels);
  }

  /** What the writer's data lines carry when the chip puts out `byte`; open lines are not driven and must be masked out. */
  fromChip(byte: number): number {
    return this.#fromChip[byte]!;
  }
}
