// What the mock writer does at the chip's pins: reading, loading, and asking whether anybody drives the bus.

import type { ByteLoad } from '../../src/chip/byte-load.js';
import type { ChipWiring } from './chip-wiring.js';
import type { MockChip } from './mock-chip.js';
import type { VirtualClock } from './virtual-clock.js';

export class ChipBus {
  /** What the data lines were last driven to, at the writer's end; lines that nobody drives keep it. */
  private charge = 0xff;

  constructor(
    readonly chip: MockChip,
    private readonly wiring: () => ChipWiring,
    private readonly clock: VirtualClock,
  ) {}

  drive(byte: number): void {
    this.charge = byte;
  }

  /** The data lines as read with the chip's outputs on. */
  read(address: number): number {
    if (!this.chip.absent) {
      const shown = this.chip.read(this.wiring().address(address), this.clock.now());
      this.charge = this.wiring().data(shown, this.charge, 'to-writer');
    }
    return this.charge;
  }

  /** The data lines as read with the chip's outputs off. */
  floating(pulledUp: boolean): number {
    if (pulledUp) this.charge = 0xff;
    return this.wiring().own(this.charge);
  }

  /** The data lines that follow a charge to 00 and to FF: nobody drives them. */
  followers(address: number): number {
    this.drive(0x00);
    const low = this.read(address);
    this.drive(0xff);
    return ~low & this.read(address) & 0xff;
  }

  /** What is left of the chip's write cycle; 0 when it is ready. */
  restOfCycleMs(): number {
    return Math.max(0, this.chip.readyMs - this.clock.now());
  }

  write(loads: readonly ByteLoad[]): void {
    const wiring = this.wiring();
    this.chip.write(
      loads.map(({ address, byte }) => ({
        address: wiring.address(address),
        // The chip's end of an open line was last driven by the chip itself.
        byte: wiring.data(byte, 0xff, 'to-chip'),
      })),
      this.clock.now(),
    );
    this.charge = loads.at(-1)?.byte ?? this.charge;
  }
}
