// The writer's board: pins of the microcontroller, address registers, socket. Turns changes of ports into edges on lines.
import type { AddressRegisters } from './address-registers.js';
import type { AvrMachine } from './avr-machine.js';
import { allInactive, type ChipSocket } from './chip-socket.js';
import type { DataBus } from './data-bus.js';
import type { PinWorld, Port } from './ports.js';

/** Port B: D0 and D1, the first register's latch, the chain's return, the SPI's data and clock. */
const dataLow = 0x03;
const cellLatch = 0x04;
const chainOut = 0x08;
const chainReturn = 0x10;
const chainClock = 0x20;
/** Port C: lamp, the further registers' latch; the control lines are in chip-socket.ts. */
const lamp = 0x01;
const rowLatch = 0x04;
/** Port D: D2 to D7; PD0 and PD1 are the serial line, which idles high. */
const dataHigh = 0xfc;
const serialLines = 0x03;

export class WriterBoard implements PinWorld {
  #latchLevels = 0;
  #chainClockHigh = false;
  machine: AvrMachine | null = null;

  constructor(
    private readonly registers: AddressRegisters,
    private readonly bus: DataBus,
    private readonly socket: ChipSocket,
  ) {}

  /** True while the busy lamp is lit. */
  get lampLit(): boolean {
    const port = this.machine?.ports.C;
    return port !== undefined && (port.out & port.direction & lamp) !== 0;
  }

  /** The microcontroller was reset or lost power: all its pins are inputs, and the pull-ups hold the control lines high. */
  released(cycle: number): void {
    this.machine = null;
    this.socket.controlChanged(allInactive, cycle);
    this.bus.drive(0, 0);
    this.socket.dataChanged(cycle);
    this.#latchLevels = 0;
    this.#chainClockHigh = false;
  }

  changed(port: Port, cycle: number): void {
    if (port.letter === 'B') this.#portB(port, cycle);
    else if (port.letter === 'C') this.#portC(port, cycle);
    else this.#dataLines(cycle);
  }

  levels(port: Port, cycle: number): number {
    const pulled = port.out & ~port.direction;
    switch (port.letter) {
      case 'B': {
        const data = this.#sampled(cycle) & dataLow;
        const back = this.registers.returned;
        const returned = (back ?? (pulled & chainReturn ? 1 : 0)) ? chainReturn : 0;
        return data | returned | (pulled & ~(dataLow | chainReturn));
      }
      case 'C':
        return pulled | allInactive;
      case 'D':
        return (this.#sampled(cycle) & dataHigh) | serialLines;
    }
  }

  overruled({ letter }: Port): number {
    const lines = { B: dataLow, C: 0, D: dataHigh }[letter];
    return this.bus.overruled & lines;
  }

  #sampled(cycle: number): number {
    const { B, D } = this.machine!.ports;
    const pulled = (B.out & ~B.direction & dataLow) | (D.out & ~D.direction & dataHigh);
    return this.socket.sample(cycle, pulled);
  }

  #portB(port: Port, cycle: number): void {
    const levels = port.out;
    const driven = port.direction & dataLow;
    if (driven !== (this.bus.driven & dataLow) || ((levels ^ this.bus.levels) & driven) !== 0) this.#dataLines(cycle);
    const latch = levels & cellLatch;
    if (latch && !(this.#latchLevels & cellLatch)) this.#latched('cells', cycle);
    this.#latchLevels = (this.#latchLevels & ~cellLatch) | latch;
    const clockHigh = (levels & port.direction & chainClock) !== 0;
    // By hand, while the SPI does not own the pins.
    if (clockHigh && !this.#chainClockHigh && !this.machine!.spi.enabled) {
      this.registers.shiftBit(levels & port.direction & chainOut ? 1 : 0);
    }
    this.#chainClockHigh = clockHigh;
  }

  #portC(port: Port, cycle: number): void {
    const levels = port.out;
    const latch = levels & rowLatch;
    if (latch && !(this.#latchLevels & rowLatch)) this.#latched('rows', cycle);
    this.#latchLevels = (this.#latchLevels & ~rowLatch) | latch;
    this.socket.controlChanged((levels | ~port.direction) & allInactive, cycle);
  }

  #latched(which: 'cells' | 'rows', cycle: number): void {
    const before = this.registers.outputs;
    const changed = which === 'cells' ? this.registers.latchCells(cycle) : this.registers.latchRows(cycle);
    if (changed) this.socket.addressChanged(before, cycle);
  }

  #dataLines(cycle: number): void {
    const { B, D } = this.machine!.ports;
    const driven = (B.direction & dataLow) | (D.direction & dataHigh);
    const levels = (B.out & dataLow) | (D.out & dataHigh);
    if (driven === this.bus.driven && ((levels ^ this.bus.levels) & driven) === 0) return;
    this.bus.drive(driven, levels);
    this.socket.dataChanged(cycle);
  }
}
