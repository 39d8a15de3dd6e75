// Two or three 74HC595 in a chain: bits shift in at the far end of the SPI, and two latch lines put them on the address lines.
import type { Random } from '../ground/random.js';
import type { Report } from './violation.js';

interface Transfer {
  readonly before: number;
  readonly byte: number;
  readonly start: number;
  readonly bitCycles: number;
}

export class AddressRegisters {
  /** Bits in the shift registers; the first register, which carries A0 to A7, is the lowest byte. */
  #shifted: number;
  #transfer: Transfer | null = null;
  /** What stands on the outputs. Random until the first latch, as after power-up. */
  #latched: number;
  readonly #mask: number;

  /** `fitted`: registers in the chain; `returns`: whether the last one's serial output is wired back to the writer. */
  constructor(
    readonly fitted: number,
    readonly returns: boolean,
    private readonly random: Random,
    private readonly report: Report,
  ) {
    this.#mask = 2 ** (8 * fitted) - 1;
    this.#shifted = 0;
    this.#latched = 0;
    this.powerUp();
  }

  /** All flip-flops come up at random. */
  powerUp(): void {
    this.#transfer = null;
    this.#shifted = this.random.below(this.#mask + 1);
    this.#latched = this.random.below(this.#mask + 1);
  }

  /** Levels on the address lines, A0 in bit 0. */
  get outputs(): number {
    return this.#latched;
  }

  /** The last register's serial output, or null where it is not wired back. */
  get returned(): 0 | 1 | null {
    return this.returns ? (((this.#shifted >>> (8 * this.fitted - 1)) & 1) as 0 | 1) : null;
  }

  /**
   * Shifts one byte in, highest bit first, from cycle `start` on; gives the byte that the far end pushed out meanwhile
   * (FF, from the pull-up, where nothing is wired back).
   */
  shift(byte: number, start: number, bitCycles: number): number {
    const before = this.#shifted;
    this.#transfer = { before, byte, start, bitCycles };
    this.#shifted = ((before << 8) | byte) & this.#mask;
    return this.returns ? (before >>> (8 * (this.fitted - 1))) & 0xff : 0xff;
  }

  /** One rising edge of the shift clock, made by hand. */
  shiftBit(level: number): void {
    this.#transfer = null;
    this.#shifted = ((this.#shifted << 1) | level) & this.#mask;
  }

  /** Rising edge of the first register's storage clock: A0 to A7 follow. True when an output changed. */
  latchCells(cycle: number): boolean {
    return this.#latch(cycle, 0xff);
  }

  /** Rising edge of the further registers' storage clock: A8 and up follow. True when an output changed. */
  latchRows(cycle: number): boolean {
    return this.#latch(cycle, ~0xff);
  }

  #latch(cycle: number, lines: number): boolean {
    const outputs = (this.#latched & ~lines) | (this.#at(cycle) & lines);
    const changed = outputs !== this.#latched;
    this.#latched = outputs;
    return changed;
  }

  /** What the shift registers hold at `cycle`: the middle of a transfer when one is under way. */
  #at(cycle: number): number {
    const transfer = this.#transfer;
    if (!transfer) return this.#shifted;
    const { before, byte, start, bitCycles } = transfer;
    // The clock rises in the middle of each bit; the last edge comes half a bit before the end.
    const bits = Math.floor((cycle - start) / bitCycles + 0.5);
    if (bits >= 8) return this.#shifted;
    this.report('latch-while-shifting', cycle, `${Math.max(0, bits)} of 8 bits were in`);
    return ((before << Math.max(0, bits)) | (byte >> (8 - Math.max(0, bits)))) & this.#mask;
  }
}
