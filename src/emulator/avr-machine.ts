// The ATmega328P as a running machine: the instruction loop with true costs, SLEEP, interrupts and everything attached.
// A machine lives from one reset to the next; SRAM and EEPROM are handed from one to its successor.
import { AVRClock, AVREEPROM, AVRWatchdog, avrInterrupt, CPU, watchdogConfig } from 'avr8js';
import type { Random } from '../ground/random.js';
import type { AddressRegisters } from './address-registers.js';
import { MCUSR, type ResetCause, resetFlag, SMCR, SREG, sramBytes, sramStart } from './avr-registers.js';
import { type PinWorld, type Port, wirePort } from './ports.js';
import { instructions } from './quick-instructions.js';
import { Spi } from './spi.js';
import { clockHz } from './time-units.js';
import { wireTimers } from './timer.js';
import { type Sent, Usart } from './usart.js';
import type { Report } from './violation.js';

export interface MachineSetup {
  readonly flash: Uint16Array;
  /** 2 KiB, as the last machine left it or as power-up made it; read, not kept. */
  readonly sram: Uint8Array;
  /** 1 KiB; the machine writes into it. */
  readonly eeprom: Uint8Array;
  readonly cause: ResetCause;
  /** MCUSR as it stood before: flags stay until the program clears them. */
  readonly resetFlags: number;
  /** The bench's cycle at which this machine starts. */
  readonly cycle: number;
  readonly registers: AddressRegisters;
  readonly pins: PinWorld;
  readonly sent: Sent;
  readonly report: Report;
  readonly random: Random;
}

interface ClockEvent {
  cycles: number;
  callback: () => void;
  next: ClockEvent | null;
}

/** The parts of avr8js' CPU that its types hide and an exact loop needs. */
interface CpuInside {
  nextClockEvent: ClockEvent | null;
  clockEventPool: ClockEvent[];
  pendingInterrupts: ({ address: number; constant?: boolean } & Parameters<CPU['clearInterrupt']>[0])[];
}

const opcodes = { sleep: 0x9588, sei: 0x9478, reti: 0x9518 } as const;
/** SMCR: sleep enabled, mode idle, the only mode in which the USART wakes the writer. */
const sleepEnabled = 0x01;
const idleMode = 0x01;

export class AvrMachine {
  readonly cpu: CPU;
  readonly usart: Usart;
  readonly spi: Spi;
  readonly ports: Readonly<Record<'B' | 'C' | 'D', Port>>;
  /** Set by the watchdog: this machine is at its end. */
  ended = false;
  /** Stands still for ever while time goes on: a writer that hangs. */
  hung = false;
  #asleep = false;
  #stopAt = 0;
  readonly #inside: CpuInside;

  constructor(setup: MachineSetup) {
    const cpu = new CPU(setup.flash, sramBytes);
    this.cpu = cpu;
    this.#inside = cpu as unknown as CpuInside;
    cpu.data.set(setup.sram, sramStart);
    cpu.cycles = setup.cycle;
    cpu.data[MCUSR] = setup.resetFlags | resetFlag[setup.cause];
    this.usart = new Usart(cpu, setup.random, setup.sent);
    this.spi = new Spi(cpu, setup.registers, setup.report);
    this.ports = {
      B: wirePort(cpu, 'B', setup.pins),
      C: wirePort(cpu, 'C', setup.pins),
      D: wirePort(cpu, 'D', setup.pins),
    };
    wireTimers(cpu);
    new AVREEPROM(cpu, {
      readMemory: (address) => setup.eeprom[address & 0x3ff]!,
      writeMemory: (address, value) => {
        setup.eeprom[address & 0x3ff]! &= value;
      },
      eraseMemory: (address) => {
        setup.eeprom[address & 0x3ff] = 0xff;
      },
    });
    new AVRWatchdog(cpu, watchdogConfig, new AVRClock(cpu, clockHz));
    // The watchdog resets through this call; the library's own reset would keep all registers.
    cpu.reset = () => {
      this.ended = true;
    };
  }

  get cycles(): number {
    return this.cpu.cycles;
  }

  /** SRAM as it stands. */
  get sram(): Uint8Array {
    return this.cpu.data.subarray(sramStart);
  }

  /** Makes the running `run` return no later than `cycle`. */
  stopBy(cycle: number): void {
    this.#stopAt = Math.min(this.#stopAt, Math.ceil(cycle));
  }

  /** Calls back at `cycle` of this machine; lost when it is reset before. */
  at(cycle: number, callback: () => void): void {
    this.cpu.addClockEvent(callback, Math.ceil(cycle) - this.cpu.cycles);
  }

  /** Runs up to `until` (the last instruction may end a few cycles later), to stopBy, or to a watchdog reset. */
  run(until: number): void {
    this.#stopAt = Math.ceil(until);
    const { cpu } = this;
    const inside = this.#inside;
    const { data, progMem } = cpu;
    // A name of this function's own: looking an import up at every instruction costs where modules are transformed.
    const table = instructions;
    if (this.hung || this.#asleep) this.#sleep();
    while (cpu.cycles < this.#stopAt && !this.ended && !this.#asleep && !this.hung) {
      const opcode = progMem[cpu.pc]!;
      table[opcode]!(cpu, opcode);
      const event = inside.nextClockEvent;
      if (event !== null && event.cycles <= cpu.cycles) this.#runEvents();
      if (opcode === opcodes.sleep && data[SMCR]! & sleepEnabled) {
        this.#asleep = true;
        this.#sleep();
      } else if (cpu.nextInterrupt >= 0 && data[SREG]! & 0x80 && opcode !== opcodes.sei && opcode !== opcodes.reti) {
        // One instruction runs between SEI or RETI and the next interrupt (data sheet, reset and interrupt handling).
        this.#interrupt();
      }
    }
  }

  #runEvents(): void {
    const inside = this.#inside;
    for (
      let event = inside.nextClockEvent;
      event !== null && event.cycles <= this.cpu.cycles;
      event = inside.nextClockEvent
    ) {
      const { callback } = event;
      inside.nextClockEvent = event.next;
      if (inside.clockEventPool.length < 10) inside.clockEventPool.push(event);
      callback();
    }
  }

  /** Jumps from event to event until an interrupt wakes the machine or the time is up. */
  #sleep(): void {
    const { cpu } = this;
    const inside = this.#inside;
    for (;;) {
      if (this.ended) return;
      if (!this.hung && cpu.nextInterrupt >= 0 && cpu.data[SREG]! & 0x80 && cpu.data[SMCR] === idleMode) {
        this.#asleep = false;
        // Waking costs four cycles on top of the interrupt's own (data sheet, interrupt response time).
        cpu.cycles += 4;
        this.#interrupt();
        return;
      }
      const event = inside.nextClockEvent;
      if (event === null || event.cycles > this.#stopAt) {
        cpu.cycles = Math.max(cpu.cycles, this.#stopAt);
        return;
      }
      cpu.cycles = Math.max(cpu.cycles, event.cycles);
      this.#runEvents();
    }
  }

  #interrupt(): void {
    const { cpu } = this;
    const interrupt = this.#inside.pendingInterrupts[cpu.nextInterrupt]!;
    avrInterrupt(cpu, interrupt.address);
    // avr8js charges two cycles for the entry; the data sheet says four.
    cpu.cycles += 2;
    if (!interrupt.constant) cpu.clearInterrupt(interrupt);
  }
}
