// The eight data lines between writer and chip: who drives them, what charge they keep, and what a pin reads.
import type { FaultyWiring } from './faulty-wiring.js';

export class DataBus {
  /** Lines that the writer drives, and the levels it drives or (on inputs) pulls up. */
  driven = 0;
  levels = 0;
  /** What undriven lines still carry at the writer's end, and at the chip's end of open lines. */
  #charge: number;
  #chipCharge: number;

  constructor(
    private readonly wiring: FaultyWiring,
    seededLevels: number,
  ) {
    this.#charge = seededLevels & 0xff;
    this.#chipCharge = (seededLevels >> 8) & 0xff;
  }

  /** The writer's side changed: which lines it drives, with which levels. What it let go keeps its charge. */
  drive(driven: number, levels: number): void {
    this.#charge = (this.#charge & ~this.driven) | (this.levels & this.driven);
    this.driven = driven;
    this.levels = levels;
  }

  /** The chip let go of the lines after putting out `byte`. */
  released(byte: number): void {
    const kept = this.wiring.fromChip(byte);
    const heard = ~this.wiring.openData;
    this.#charge = (this.#charge & ~heard) | (kept & heard & 0xff);
    this.#chipCharge = byte;
  }

  /** What the chip takes in when the writer drives. */
  get atChip(): number {
    return this.wiring.toChip(this.#settled(this.driven, this.levels), this.#chipCharge);
  }

  /** Lines that may carry another level than the writer drives. */
  get overruled(): number {
    return this.wiring.overruledData;
  }

  /**
   * What the writer's pins see: `chipByte` when the chip drives, null when it does not; `pulledUp` are the inputs
   * with their pull-up on.
   */
  atWriter(chipByte: number | null, pulledUp: number): number {
    const { wiring } = this;
    let seen = this.#settled(this.driven, this.levels) | (pulledUp & ~this.driven);
    if (chipByte === null) seen = wiring.joined(seen);
    else seen = (seen & wiring.openData) | (wiring.fromChip(chipByte) & ~wiring.openData);
    return (seen & ~wiring.stuckData) | wiring.stuckLevels;
  }

  #settled(driven: number, levels: number): number {
    return (this.#charge & ~driven) | (levels & driven);
  }
}
