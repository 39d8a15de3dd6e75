// A chip in its socket whose pins a test moves by hand, at any nanosecond.
import { findPart } from '../../src/chip/chip-table.js';
import type { WiringFault } from '../../src/chip/wiring-fault.js';
import { ChipCells } from '../../src/emulator/chip-cells.js';
import type { ChipFault } from '../../src/emulator/chip-fault.js';
import { allInactive, CE, ChipSocket, OE, WE } from '../../src/emulator/chip-socket.js';
import { DataBus } from '../../src/emulator/data-bus.js';
import { EepromChip } from '../../src/emulator/eeprom-chip.js';
import { FaultyWiring } from '../../src/emulator/faulty-wiring.js';
import { cyclesOfNs, cyclesOfUs } from '../../src/emulator/time-units.js';
import type { RuleName } from '../../src/emulator/violation.js';
import { seededRandom } from '../../src/ground/random.js';

export interface PulseTimes {
  /** Nanoseconds: address before the pulse, its length, data before its end, data after its end, address after its start. */
  setupNs?: number;
  widthNs?: number;
  dataNs?: number;
  holdNs?: number;
  addressHoldNs?: number;
  /** Data lines driven; default all. */
  driven?: number;
}

export class ScriptedSocket {
  readonly part;
  readonly cells: ChipCells;
  readonly chip: EepromChip | null;
  readonly bus: DataBus;
  readonly socket: ChipSocket;
  readonly broken: RuleName[] = [];
  finished = 0;
  /** Now, in cycles; starts after the power-up delay unless told otherwise. */
  at = cyclesOfUs(6000);
  #address = 0;

  constructor(
    options: {
      part?: string;
      cycleUs?: number;
      faults?: ChipFault[];
      wires?: WiringFault[];
      protectionOn?: boolean;
      empty?: boolean;
      seed?: number;
      contents?: (address: number) => number;
    } = {},
  ) {
    this.part = findPart(options.part ?? 'AT28C64B');
    const seed = options.seed ?? 1;
    const random = seededRandom(seed);
    const { part } = this;
    const bytes = Uint8Array.from({ length: part.cells }, (_, a) => options.contents?.(a) ?? 0xff);
    const faults = options.faults ?? [];
    this.cells = new ChipCells(
      bytes,
      new Uint32Array(part.cells),
      part.pageBytes.value,
      part.endurance.value,
      seed,
      faults,
    );
    const report = (rule: RuleName) => void this.broken.push(rule);
    this.chip = options.empty
      ? null
      : new EepromChip({
          part,
          cells: this.cells,
          protectionOn: options.protectionOn ?? false,
          cycleUs: options.cycleUs ?? part.cycleMaxUs.value,
          faults,
          random,
          report,
          began: () => {},
          finished: () => {
            this.finished++;
          },
        });
    const wiring = new FaultyWiring(options.wires ?? [], 0xa5a5a5);
    this.bus = new DataBus(wiring, 0);
    this.socket = new ChipSocket(part, this.chip, this.bus, wiring, () => this.#address, random, report);
    this.control(allInactive & ~CE);
    this.ns(1000);
  }

  ns(ns: number): void {
    this.at += cyclesOfNs(ns);
  }

  us(us: number): void {
    this.at += cyclesOfUs(us);
  }

  control(levels: number): void {
    this.socket.controlChanged(levels, this.at);
  }

  address(address: number): void {
    const before = this.#address;
    this.#address = address;
    if (address !== before) this.socket.addressChanged(before, this.at);
  }

  drive(driven: number, levels: number): void {
    this.bus.drive(driven, levels);
    this.socket.dataChanged(this.at);
  }

  /** One write pulse by /WE with /CE low; the defaults keep every rule. */
  pulse(address: number, data: number, times: PulseTimes = {}): void {
    const { setupNs = 200, widthNs = 250, dataNs = 200, holdNs = 100, driven = 0xff } = times;
    this.address(address);
    this.ns(setupNs);
    if (dataNs >= widthNs || times.addressHoldNs !== undefined) this.drive(driven, data);
    this.control(OE);
    if (times.addressHoldNs !== undefined) {
      this.ns(times.addressHoldNs);
      this.address(address ^ 1);
      this.ns(widthNs - times.addressHoldNs);
    } else if (dataNs < widthNs) {
      this.ns(widthNs - dataNs);
      this.drive(driven, data);
      this.ns(dataNs);
    } else this.ns(widthNs);
    this.control(OE | WE);
    this.ns(holdNs);
    this.drive(0, 0);
    this.ns(100);
  }

  /** One read with /OE; `waitNs` from /OE low to the sample. */
  read(address: number, waitNs = 400, pulledUp = 0): number {
    this.address(address);
    this.ns(100);
    this.control(WE);
    this.ns(waitNs);
    const byte = this.socket.sample(this.at, pulledUp);
    this.control(WE | OE);
    this.ns(100);
    return byte;
  }

  /** Lets the write cycle end. */
  waitOut(): void {
    this.us(20_500);
    this.chip?.settle(this.at);
  }
}
