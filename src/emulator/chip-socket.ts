// The chip's pins as the writer moves them: every edge is held against the times of the chip's row, and the chip is told
// only of whole write pulses. Times are cycles of the bench; a data sheet minimum is never rounded away.
import type { Part } from '../chip/part.js';
import { hex } from '../ground/byte-text.js';
import type { Random } from '../ground/random.js';
import type { DataBus } from './data-bus.js';
import type { EepromChip } from './eeprom-chip.js';
import type { FaultyWiring } from './faulty-wiring.js';
import { cyclesOfNs } from './time-units.js';
import type { Report } from './violation.js';

/** Control lines by their bits in port C; a set bit is a high, inactive line. */
export const CE = 0x02;
export const WE = 0x08;
export const OE = 0x20;
export const allInactive = CE | WE | OE;

/** Latch to output of a 74HC595 at 4.5 V, -40 to 125 degrees, at most (Nexperia 74HC595, table 7): 53 ns. */
const registerDelay = cyclesOfNs(53);
/** Outputs off after /OE or /CE went high, at most (AT28C256-25 data sheet, AC read characteristics, tDF): 60 ns. */
const outputsOffDelay = cyclesOfNs(60);

const nsOf = (cycles: number): string => `${Math.round(cycles * 62.5)} ns`;

interface Moment {
  readonly control: number;
  readonly address: number;
  readonly validAt: number;
}

export class ChipSocket {
  /** Levels of the control lines. */
  control = allInactive;
  #before: Moment = { control: allInactive, address: 0, validAt: 0 };
  #changedAt = 0;
  /** From when the address is surely stable, and from when the outputs are surely valid. */
  #addressFrom = 0;
  #validAt = 0;
  #dataFrom = 0;
  #outputsOffAt = 0;
  #outputsOffBy = 0;
  #pulseFall = 0;
  #pulseRise = Number.NEGATIVE_INFINITY;
  #pulseAddress = 0;
  readonly #t: Readonly<Record<keyof Part['write']['value'] | 'access', number>>;

  constructor(
    part: Part,
    /** Null: the socket is empty. */
    private readonly chip: EepromChip | null,
    private readonly bus: DataBus,
    private readonly wiring: FaultyWiring,
    /** Levels on the writer's address lines. */
    private readonly addressLines: () => number,
    private readonly random: Random,
    private readonly report: Report,
  ) {
    const w = part.write.value;
    this.#t = {
      addressSetupNs: cyclesOfNs(w.addressSetupNs),
      addressHoldNs: cyclesOfNs(w.addressHoldNs),
      dataSetupNs: cyclesOfNs(w.dataSetupNs),
      dataHoldNs: cyclesOfNs(w.dataHoldNs),
      pulseMinNs: cyclesOfNs(w.pulseMinNs),
      pulseMaxNs: w.pulseMaxNs === null ? Number.POSITIVE_INFINITY : cyclesOfNs(w.pulseMaxNs),
      pulseHighNs: cyclesOfNs(w.pulseHighNs),
      access: cyclesOfNs(part.accessNs.value),
    };
  }

  /** Control lines changed. */
  controlChanged(control: number, cycle: number): void {
    const old = this.control;
    if (control === old || !this.chip) {
      this.control = control;
      return;
    }
    this.#remember(cycle);
    this.control = control;
    this.#watchOutputs(this.chip, old, control, cycle);
    const wasWriting = (old & allInactive) === OE;
    const isWriting = (control & allInactive) === OE;
    if (isWriting && !wasWriting) this.#pulseBegins(old, cycle);
    if (wasWriting && !isWriting) this.#pulseEnds(this.chip, control, cycle);
    if (!(control & (CE | WE | OE)) && old & WE)
      this.report('write-with-outputs-on', cycle, '/CE, /WE and /OE are all low');
  }

  /** `before`: what the address lines carried until now. */
  addressChanged(before: number, cycle: number): void {
    this.#remember(cycle, before);
    const { addressHoldNs, access } = this.#t;
    if (this.#isWriting && cycle - this.#pulseFall < addressHoldNs) {
      this.#short('address-hold-too-short', cycle, cycle - this.#pulseFall, addressHoldNs);
    }
    this.#addressFrom = cycle + registerDelay;
    this.#validAt = Math.max(this.#validAt, this.#addressFrom + access);
  }

  /** The writer drives other data lines, or others levels on them. */
  dataChanged(cycle: number): void {
    this.#dataFrom = cycle;
    if (this.bus.driven !== 0 && this.chip && (this.#outputsAreOn || cycle < this.#outputsOffBy)) {
      this.report('bus-contention', cycle, `data lines driven: ${hex(this.bus.driven)}`);
    }
    const since = cycle - this.#pulseRise;
    if (since < this.#t.dataHoldNs) this.#short('data-hold-too-short', cycle, since, this.#t.dataHoldNs);
  }

  /** What the writer's data pins showed at `cycle`; `pulledUp` are its inputs with the pull-up on. */
  sample(cycle: number, pulledUp: number): number {
    const moment: Moment =
      cycle < this.#changedAt
        ? this.#before
        : { control: this.control, address: this.addressLines(), validAt: this.#validAt };
    const drives = this.chip !== null && !(moment.control & (CE | OE));
    if (!drives) return this.bus.atWriter(null, pulledUp);
    let byte = this.chip!.read(this.wiring.address(moment.address), cycle);
    if (cycle < moment.validAt) {
      const missing = nsOf(moment.validAt - cycle);
      this.report('read-before-access-time', cycle, `${missing} too early, address ${hex(moment.address, 4)}`);
      byte ^= this.random.below(256);
    }
    return this.bus.atWriter(byte, pulledUp);
  }

  get #outputsAreOn(): boolean {
    return !(this.control & (CE | OE));
  }

  get #isWriting(): boolean {
    return (this.control & allInactive) === OE;
  }

  #remember(cycle: number, address = this.addressLines()): void {
    this.#before = { control: this.control, address, validAt: this.#validAt };
    this.#changedAt = cycle;
  }

  #watchOutputs(chip: EepromChip, old: number, control: number, cycle: number): void {
    const wereOn = !(old & (CE | OE));
    const areOn = !(control & (CE | OE));
    const { access } = this.#t;
    // From /CE low the full access time counts, from /OE low about half of it (AT28C256 data sheet: 70 to 100 of 150 to 250 ns).
    if (old & CE && !(control & CE)) this.#validAt = Math.max(this.#validAt, cycle + access);
    if (old & OE && !(control & OE)) this.#validAt = Math.max(this.#validAt, cycle + access / 2);
    if (areOn && !wereOn) {
      chip.outputsOn();
      if (this.bus.driven !== 0) this.report('bus-contention', cycle, `data lines driven: ${hex(this.bus.driven)}`);
    }
    if (wereOn && !areOn) {
      this.bus.released(chip.read(this.wiring.address(this.addressLines()), cycle));
      this.#outputsOffAt = cycle;
      this.#outputsOffBy = cycle + outputsOffDelay;
    }
  }

  #pulseBegins(old: number, cycle: number): void {
    const { addressSetupNs, pulseHighNs } = this.#t;
    const stable = cycle - this.#addressFrom;
    if (stable < addressSetupNs) this.#short('address-setup-too-short', cycle, stable, addressSetupNs);
    // /OE must have been high for the same set-up time (data sheets give tAS and tOES in one line).
    const outputsOff = cycle - this.#outputsOffAt;
    if (old & WE && outputsOff < addressSetupNs)
      this.#short('address-setup-too-short', cycle, outputsOff, addressSetupNs);
    const high = cycle - this.#pulseRise;
    if (high < pulseHighNs) this.#short('write-pulse-high-too-short', cycle, high, pulseHighNs);
    this.#pulseFall = cycle;
    this.#pulseAddress = this.addressLines();
  }

  #pulseEnds(chip: EepromChip, control: number, cycle: number): void {
    const { pulseMinNs, pulseMaxNs, dataSetupNs } = this.#t;
    this.#pulseRise = cycle;
    if (!(control & OE)) {
      this.report('write-broken-off', cycle, '/OE went low while /CE and /WE were low');
      return;
    }
    const width = cycle - this.#pulseFall;
    if (width < pulseMinNs) this.#short('write-pulse-too-short', cycle, width, pulseMinNs);
    if (width > pulseMaxNs) {
      this.report('write-pulse-too-long', cycle, `${nsOf(width)}, at most ${nsOf(pulseMaxNs)}`);
    }
    const stable = cycle - this.#dataFrom;
    if (stable < dataSetupNs) this.#short('data-setup-too-short', cycle, stable, dataSetupNs);
    if (this.bus.driven !== 0xff) {
      this.report('write-with-undriven-data', cycle, `data lines driven: ${hex(this.bus.driven)}`);
    }
    chip.load(this.wiring.address(this.#pulseAddress), this.bus.atChip, this.#pulseFall, cycle);
  }

  #short(rule: Parameters<Report>[0], cycle: number, found: number, wanted: number): void {
    this.report(rule, cycle, `${nsOf(found)}, at least ${nsOf(wanted)}`);
  }
}
