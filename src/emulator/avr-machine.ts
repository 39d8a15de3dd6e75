// The ATmega328P as a running machine: the instruction loop with true costs, SLEEP, interrupts and everything attached.
// A machine lives from one reset to the next; SRAM and EEPROM are handed from one to its successor.
import { AVRClock, AVREEPROM, AVRWatchdog, avrInstruction, avrInterrupt, CPU, watchdogConfig } from 'avr8js';
import type { Random } from '../ground/random.js';
import type { AddressRegisters } from './address-registers.js';
import { MCUSR, type ResetCause, resetFlag, SMCR, SREG, sramBytes, sramStart } from './avr-registers.js';
import { type PinWorld, type Port, wirePort } from './ports.js';
import { Spi } from './spi.js';
import { clockHz } from './time-units.js';
import { isTimerFlags, type Timers, wireTimers } from './timer.js';
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

/** How often the machine looks whether the program idles (it did, or did not, the last time), and for how long a loop. In cycles. */
const betweenLooks = 8000;
const whileIdle = 500;
const longestIdleLoop = 1000;

const SLEEP = 0x9588;
const SEI = 0x9478;
const RETI = 0x9518;
/** Without the bit that it clears. */
const CBI = 0x9800;
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
  /** Counts everything that reaches beyond registers and memory, or comes from there. */
  #activity = 0;
  readonly #inside: CpuInside;
  readonly #timers: Timers;
  readonly #remembered = new Uint8Array(sramStart + sramBytes);

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
    this.#timers = wireTimers(cpu);
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
      this.#stopAt = 0;
    };
    this.#countActivity();
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
    if (this.hung || this.#asleep) this.#sleep();
    let stretch = betweenLooks;
    while (this.cpu.cycles < this.#stopAt) {
      this.#runInstructions(this.cpu.cycles + stretch);
      stretch = this.#skipIdleLoop() ? whileIdle : betweenLooks;
    }
  }

  #runInstructions(end: number): void {
    const { cpu } = this;
    const inside = this.#inside;
    const { data, progMem } = cpu;
    while (cpu.cycles < end && cpu.cycles < this.#stopAt) {
      const opcode = progMem[cpu.pc]!;
      avrInstruction(cpu);
      // avr8js 0.21.1 charges CBI one cycle, the instruction set summary says two.
      if ((opcode & 0xff00) === CBI) cpu.cycles++;
      const event = inside.nextClockEvent;
      if (event !== null && event.cycles <= cpu.cycles) this.#runEvents();
      if (opcode === SLEEP && data[SMCR]! & sleepEnabled) {
        this.#asleep = true;
        this.#sleep();
      } else if (cpu.nextInterrupt >= 0 && data[SREG]! & 0x80 && opcode !== SEI && opcode !== RETI) {
        // One instruction runs between SEI or RETI and the next interrupt (data sheet, reset and interrupt handling).
        this.#interrupt();
      }
    }
  }

  /**
   * A program that only looks at its memory comes back to the very same state again and again, until something happens
   * from outside: the turns up to then are counted and not run. True when it was so.
   */
  #skipIdleLoop(): boolean {
    const { cpu } = this;
    const { pc, cycles } = cpu;
    const activity = this.#activity;
    this.#remembered.set(cpu.data);
    while (cpu.cycles - cycles < longestIdleLoop && cpu.cycles < this.#stopAt) {
      this.#runInstructions(cpu.cycles + 1);
      if (this.#activity !== activity) return false;
      if (cpu.pc === pc && Buffer.compare(cpu.data, this.#remembered) === 0) {
        const turn = cpu.cycles - cycles;
        const next = this.#inside.nextClockEvent?.cycles ?? Number.POSITIVE_INFINITY;
        const quiet = Math.min(this.#stopAt, next, this.#timers.quietUntil()) - cpu.cycles;
        if (quiet > turn) cpu.cycles += Math.floor(quiet / turn) * turn;
        return true;
      }
    }
    return false;
  }

  #countActivity(): void {
    const { readHooks, writeHooks } = this.cpu;
    for (const [key, hook] of Object.entries(readHooks)) {
      // Looking at timer flags changes nothing, and when they will change is known.
      if (isTimerFlags(Number(key))) continue;
      readHooks[Number(key)] = (address) => {
        this.#activity++;
        return hook(address);
      };
    }
    for (const [key, hook] of Object.entries(writeHooks)) {
      writeHooks[Number(key)] = (value, old, address, mask) => {
        this.#activity++;
        return hook(value, old, address, mask);
      };
    }
  }

  #runEvents(): void {
    this.#activity++;
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
    this.#activity++;
    const { cpu } = this;
    const interrupt = this.#inside.pendingInterrupts[cpu.nextInterrupt]!;
    avrInterrupt(cpu, interrupt.address);
    // avr8js charges two cycles for the entry; the data sheet says four.
    cpu.cycles += 2;
    if (!interrupt.constant) cpu.clearInterrupt(interrupt);
  }
}
