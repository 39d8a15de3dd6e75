// The emulated bench: the writer's real firmware on an emulated microcontroller, wired to registers and a chip.
// Time is counted in cycles of the writer's clock and moves only in `advance`.
import { type Random, seededRandom } from '../ground/random.js';
import { AvrMachine } from './avr-machine.js';
import { eepromBytes, MCUSR, type ResetCause, sramBytes } from './avr-registers.js';
import type { BenchState } from './bench-state.js';
import { type WiredBench, wireBench } from './bench-wiring.js';
import { flashOfHex } from './firmware-hex.js';
import { type BenchMishap, isByteMishap } from './mishap.js';
import { MishapSchedule } from './mishap-schedule.js';
import { SerialLine } from './serial-line.js';
import { cyclesOfMs, cyclesOfUs } from './time-units.js';
import type { Report, Violation } from './violation.js';

export interface BenchOptions {
  /** Changed in place as the chip is written. */
  readonly state: BenchState;
  /** The text of the firmware's .hex. */
  readonly firmware: string;
  /** How the user named the port; default `emulated`. */
  readonly path?: string;
  /** Opening the port resets the writer, as most boards do; default true. */
  readonly resetOnOpen?: boolean;
  /** Called after every write cycle of the chip, and when the port closes. */
  readonly save?: (state: BenchState) => void;
}

/** Violations kept in full; beyond that they are only counted. */
const violationsKept = 1000;

export class EmulatedBench {
  readonly state: BenchState;
  readonly path: string;
  readonly resetOnOpen: boolean;
  readonly line: SerialLine;
  /** Why the state could not be saved, if it could not: the port is then lost, and the command should say this instead. */
  saveError: unknown = null;
  readonly #violations: Violation[] = [];
  readonly #flash: Uint16Array;
  readonly #eeprom = new Uint8Array(eepromBytes).fill(0xff);
  readonly #random: Random;
  readonly #wired: WiredBench;
  readonly #save: (state: BenchState) => void;
  readonly #report: Report;
  readonly #mishaps = new MishapSchedule((cycle) => this.#machine?.stopBy(cycle));
  #machine: AvrMachine | null = null;
  /** Time while there is no machine. */
  #cycles = 0;
  #powerBackAt: number | null = null;
  #pluggedIn = true;
  #unplugged: () => void = () => {};

  /** Switches the bench on. Throws emulator.firmware. */
  constructor(options: BenchOptions) {
    const { state } = options;
    this.state = state;
    this.path = options.path ?? 'emulated';
    this.resetOnOpen = options.resetOnOpen ?? true;
    this.#save = options.save ?? (() => {});
    this.#flash = flashOfHex(options.firmware);
    state.starts++;
    this.#random = seededRandom(state.seed ^ Math.imul(state.starts, 0x85ebca6b));
    const report: Report = (rule, cycle, detail) => {
      state.violations++;
      if (this.#violations.length < violationsKept) this.#violations.push({ rule, cycle, detail });
    };
    this.line = new SerialLine(state.answerDelayMs, this.#random, (toWriter, toHost) =>
      this.#mishaps.bytesPassed(toWriter, toHost, this.cycles),
    );
    this.#wired = wireBench(state, this.#random, report, {
      began: (count, cycle) => this.#mishaps.writeCycleBegan(count, cycle),
      finished: () => this.save(),
    });
    this.#report = report;
    this.#startMachine('power');
  }

  /** Cycles since the bench was switched on. */
  get cycles(): number {
    return this.#machine?.cycles ?? this.#cycles;
  }

  /** What the chip truly holds, whatever a reader is shown. A copy. */
  get truth(): Uint8Array {
    return this.state.cells.slice();
  }

  /** Data sheet rules that the writer broke since the bench was switched on (the first 1000). */
  get violations(): readonly Violation[] {
    return this.#violations;
  }

  /** The busy lamp is lit. */
  get lampLit(): boolean {
    return this.#wired.board.lampLit;
  }

  /** The bench is connected to the host. */
  get pluggedIn(): boolean {
    return this.#pluggedIn;
  }

  /** Write cycles that the chip has begun since the bench was switched on. */
  get writeCycles(): number {
    return this.#wired.chip?.cyclesBegun ?? 0;
  }

  /** Hands the state to whoever saves it. Throws what that throws, and keeps it. */
  save(): void {
    if (this.#wired.chip) this.state.protectionOn = this.#wired.chip.protectionOn;
    try {
      this.#save(this.state);
    } catch (error) {
      this.saveError ??= error;
      throw error;
    }
  }

  /** The host sends bytes. */
  send(bytes: Uint8Array): void {
    this.line.send(bytes, this.#machine, this.cycles);
  }

  /**
   * Lets time pass up to `until`, or until bytes are due at the host (then `line.take` has them), whichever comes first.
   * The last instruction may end a few cycles later.
   */
  advance(until: number): void {
    while (this.cycles < until) {
      const stop = Math.min(until, this.line.nextStop ?? until, this.#nextLook);
      if (this.cycles < stop) this.#run(stop);
      this.#strike();
      const due = this.line.nextStop;
      if (due !== null && due <= this.cycles) break;
    }
    this.#wired.chip?.settle(this.cycles);
  }

  /** Lets the chip finish what it is doing, as it would between two commands. */
  rest(): void {
    const limit = this.cycles + cyclesOfMs(2000);
    while (this.#wired.chip?.isWriting(this.cycles) && this.cycles < limit) {
      this.advance(this.cycles + cyclesOfUs(100));
      this.line.take(this.cycles);
    }
    this.save();
  }

  /** A pulse on the reset pin. */
  resetWriter(): void {
    if (this.#machine) this.#startMachine('external');
  }

  /** The writer stands still until it is reset. */
  hangWriter(): void {
    if (this.#machine) this.#machine.hung = true;
  }

  /** Takes the power from board and chip for `offMs`. */
  cutPower(offMs: number): void {
    if (!this.#machine) return;
    const now = this.cycles;
    this.#wired.chip?.powerDown(now);
    this.#wired.board.released(now);
    this.#cycles = now;
    this.#machine = null;
    this.line.attach(null);
    this.#powerBackAt = now + cyclesOfMs(offMs);
  }

  /** Pulls the cable: the port is gone for the host, the writer works on. */
  unplug(): void {
    this.#pluggedIn = false;
    this.#unplugged();
  }

  plugIn(): void {
    this.#pluggedIn = true;
  }

  /** Who hears that the cable was pulled; one listener. */
  whenUnplugged(listener: () => void): void {
    this.#unplugged = listener;
  }

  /** Adds mishaps; each strikes once, at its place. */
  arrange(mishaps: readonly BenchMishap[]): void {
    this.line.arrange(mishaps.filter(isByteMishap));
    for (const mishap of mishaps) if (!isByteMishap(mishap)) this.#mishaps.add(mishap);
  }

  /** Ends all mishaps: none waits any more, the cable is in, the power on, and the writer runs. */
  liftMishaps(): void {
    this.line.lift();
    this.#mishaps.clear();
    this.plugIn();
    if (this.#powerBackAt !== null) this.#powerUp();
    if (this.#machine?.hung) this.resetWriter();
  }

  /** The cycle by which power comes back or a mishap may strike. */
  get #nextLook(): number {
    const look = Math.min(this.#powerBackAt ?? Number.POSITIVE_INFINITY, this.#mishaps.nextLook(this.cycles));
    return Math.max(look, this.cycles);
  }

  #run(stop: number): void {
    const machine = this.#machine;
    if (!machine) {
      this.#cycles = Math.ceil(stop);
      return;
    }
    machine.run(stop);
    if (machine.ended) this.#startMachine('watchdog');
    if (this.#mishaps.waitsForWriteCycle) this.#wired.chip?.settle(this.cycles);
  }

  #strike(): void {
    const now = this.cycles;
    if (this.#powerBackAt !== null && this.#powerBackAt <= now) this.#powerUp();
    for (const mishap of this.#mishaps.due(now)) {
      if (mishap.kind === 'power-cut') this.cutPower(mishap.offMs);
      else if (mishap.kind === 'writer-reset') this.resetWriter();
      else if (mishap.kind === 'writer-hang') this.hangWriter();
      else this.unplug();
    }
  }

  #powerUp(): void {
    this.#powerBackAt = null;
    this.state.starts++;
    this.#wired.registers.powerUp();
    this.#wired.chip?.powerUp(this.cycles);
    this.#startMachine('power');
  }

  #startMachine(cause: ResetCause): void {
    const old = this.#machine;
    const cycle = this.cycles;
    this.#wired.board.released(cycle);
    const machine: AvrMachine = new AvrMachine({
      flash: this.#flash,
      sram: old?.sram ?? this.#random.bytes(sramBytes),
      eeprom: this.#eeprom,
      cause,
      resetFlags: old?.cpu.data[MCUSR] ?? 0,
      cycle,
      registers: this.#wired.registers,
      pins: this.#wired.board,
      sent: (byte, end, bit) => {
        const stop = this.line.fromWriter(byte, end, bit);
        if (stop !== null) machine.stopBy(stop);
      },
      report: this.#report,
      random: this.#random,
    });
    this.#machine = machine;
    this.#wired.board.machine = machine;
    this.line.attach(machine);
  }
}
