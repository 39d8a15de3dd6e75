// A parallel EEPROM as its data sheet describes it: load window, write cycle, polling, protection, power.
// Time is in cycles of the bench, and nothing happens here but when somebody looks or loads.
import { capabilities } from '../chip/chip-table.js';
import type { Part } from '../chip/part.js';
import { hex } from '../ground/byte-text.js';
import type { Random } from '../ground/random.js';
import type { ChipCells } from './chip-cells.js';
import type { ChipFault } from './chip-fault.js';
import { ProtectionCodes } from './protection-codes.js';
import { cyclesOfMs, cyclesOfUs } from './time-units.js';
import type { Report } from './violation.js';

export interface ChipSetup {
  readonly part: Part;
  readonly cells: ChipCells;
  readonly protectionOn: boolean;
  readonly cycleUs: number;
  readonly faults: readonly ChipFault[];
  readonly random: Random;
  readonly report: Report;
  /** The n-th write cycle (from 1) has begun at this cycle of the bench. */
  readonly began: (count: number, cycle: number) => void;
  /** A write cycle has ended: cells or protection may have changed. */
  readonly finished: () => void;
}

/** Writes are refused for this long after power-up (AT28C64B data sheet, hardware protection: 5 ms typical). */
const powerOnDelay = cyclesOfMs(5);
/** Software chip erase (Atmel application note 0544B): 20 ms at most. */
const eraseCycles = cyclesOfMs(20);

export class EepromChip {
  protectionOn: boolean;
  /** Write cycles begun since the bench started. */
  cyclesBegun = 0;
  readonly #addressMask: number;
  readonly #window: number;
  readonly #cycle: number;
  readonly #neverReady: boolean;
  readonly #codes: ProtectionCodes;
  readonly #polling: Part['polling']['value'];
  /** Loads that may still turn out to be a protection code. */
  #held: { address: number; data: number }[] = [];
  #buffer = new Map<number, number>();
  #page = -1;
  #loading = false;
  #lastFall = 0;
  #lastData = 0;
  #lastPage = -1;
  #unlocked = false;
  #asked: 'enable' | 'disable' | 'erase' | null = null;
  /** End of the write cycle under way; 0 when there is none, infinite when it never ends. */
  #busyUntil = 0;
  #stuckBusy = false;
  #poweredAt = 0;
  #toggle = 0;
  #noise = 0;

  constructor(private readonly setup: ChipSetup) {
    const { part, faults } = setup;
    const smaller = faults.find((f) => f.kind === 'smaller');
    this.#addressMask = (smaller ? smaller.cells : part.cells) - 1;
    this.#window = cyclesOfUs(part.pageBytes.value > 1 ? (part.loadWindowMaxUs?.value ?? 0) : 0);
    const slow = faults.some((f) => f.kind === 'slow');
    this.#cycle = cyclesOfUs(slow ? 4 * part.cycleMaxUs.value : setup.cycleUs);
    this.#neverReady = faults.some((f) => f.kind === 'never ready');
    this.#codes = new ProtectionCodes(this.#addressMask);
    this.#polling = part.polling.value;
    this.protectionOn = setup.protectionOn;
  }

  /** Power comes on; what was loaded and not yet written is gone. */
  powerUp(cycle: number): void {
    this.#poweredAt = cycle;
    this.#endOfCycle();
    this.#stuckBusy = false;
  }

  /** Power goes: a page in its write cycle then holds anything, seeded; a page still loading keeps what it had. */
  powerDown(cycle: number): void {
    this.settle(cycle);
    const { cells, random } = this.setup;
    if (this.#busyUntil > cycle && this.#page >= 0 && this.#allowed) {
      const first = this.#page * cells.pageBytes;
      for (let address = first; address < first + cells.pageBytes; address++) {
        const loaded = this.#buffer.get(address);
        const outcomes = [cells.bytes[address]!, loaded ?? cells.bytes[address]!, random.below(256)];
        cells.bytes[address] = random.pick(outcomes);
      }
      this.setup.finished();
    }
    this.#endOfCycle();
  }

  /** Carries out what has become due by `cycle`: the end of the load window, the end of the write cycle. */
  settle(cycle: number): void {
    if (this.#loading && cycle > this.#lastFall + this.#window) this.#begin(this.#lastFall + this.#window);
    if (this.#busyUntil !== 0 && cycle >= this.#busyUntil) this.#finish();
  }

  /** A page is loading or in its write cycle. */
  isWriting(cycle: number): boolean {
    this.settle(cycle);
    return this.#loading || this.#busyUntil !== 0;
  }

  /** The outputs are those of a busy chip. */
  isBusy(cycle: number): boolean {
    return this.isWriting(cycle) || this.#stuckBusy;
  }

  /** One write pulse: the address as latched at `fall`, the data as latched at `rise`. */
  load(pinAddress: number, data: number, fall: number, rise: number): void {
    this.settle(fall);
    const address = pinAddress & this.#addressMask;
    if (fall - this.#poweredAt < powerOnDelay) {
      this.setup.report('write-after-power-up', rise, `address ${hex(address, 4)}`);
    } else if (this.#busyUntil !== 0 || this.#stuckBusy) this.#refuse(address, fall, rise);
    else this.#accept(address, data, fall, rise);
  }

  /** The outputs were switched on: a new read, so the toggle bit moves. */
  outputsOn(): void {
    this.#toggle ^= 0x40;
    this.#noise = this.setup.random.below(256);
  }

  /** What the chip puts out at this address while its outputs are on. */
  read(pinAddress: number, cycle: number): number {
    const address = pinAddress & this.#addressMask;
    if (!this.isBusy(cycle)) return this.setup.cells.bytes[address]!;
    // While busy bit 7 is the complement of the last byte's, bit 6 toggles, the rest is indeterminate
    // (AT28C64B data sheet, DATA polling and toggle bit).
    let out = this.#noise;
    if (this.#polling !== 'limit') out = (out & 0x7f) | (~this.#lastData & 0x80);
    if (this.#polling === 'toggle') out = (out & ~0x40) | this.#toggle;
    return out;
  }

  get #allowed(): boolean {
    return !this.protectionOn || this.#unlocked;
  }

  #accept(address: number, data: number, fall: number, rise: number): void {
    if (!this.#loading) {
      this.#loading = true;
      this.#codes.restart();
    }
    this.#lastFall = fall;
    this.#lastData = data;
    this.#take(address, data, rise);
    // Without page mode there is no window: the write cycle starts with the end of the pulse.
    if (this.setup.part.pageBytes.value === 1) this.#begin(rise);
  }

  #refuse(address: number, fall: number, rise: number): void {
    const { report, part } = this.setup;
    const late = fall - this.#lastFall;
    // Just after the window, to the page that was loading: the writer thought that it was still open.
    const samePage = Math.floor(address / part.pageBytes.value) === this.#lastPage;
    if (samePage && part.pageBytes.value > 1 && late < 4 * this.#window) {
      report('byte-load-outside-window', rise, `${(late / 16).toFixed(1)} us after the load before it`);
    } else report('write-while-busy', rise, `address ${hex(address, 4)}`);
  }

  #take(address: number, data: number, cycle: number): void {
    const outcome = capabilities(this.setup.part).protection ? this.#codes.take(address, data) : 'ordinary';
    if (outcome === 'pending') {
      this.#held.push({ address, data });
      this.#lastPage = Math.floor(address / this.setup.cells.pageBytes);
    } else if (outcome === 'ordinary') {
      this.#releaseHeld(cycle);
      this.#store(address, data, cycle);
    } else {
      this.#held = [];
      this.#asked = outcome;
      this.#unlocked = true;
    }
  }

  /** Loads that looked like a code were none: they are data after all. */
  #releaseHeld(cycle: number): void {
    const held = this.#held;
    this.#held = [];
    for (const load of held) this.#store(load.address, load.data, cycle);
  }

  #store(address: number, data: number, cycle: number): void {
    const { pageBytes } = this.setup.cells;
    const page = Math.floor(address / pageBytes);
    if (this.#page < 0) this.#page = page;
    if (page === this.#page) this.#buffer.set(address, data);
    else {
      this.setup.report(
        'byte-load-outside-page',
        cycle,
        `address ${hex(address, 4)} in page ${hex(this.#page * pageBytes, 4)}`,
      );
      // The data sheets forbid it and do not say what happens: the page of the first load stays, or the last one wins.
      if (this.setup.random.chance(0.5)) this.#movePage(page);
      this.#buffer.set(this.#page * pageBytes + (address % pageBytes), data);
    }
    this.#lastPage = this.#page;
  }

  #movePage(page: number): void {
    const { pageBytes } = this.setup.cells;
    this.#page = page;
    this.#buffer = new Map([...this.#buffer].map(([a, d]) => [page * pageBytes + (a % pageBytes), d]));
  }

  #begin(cycle: number): void {
    this.#releaseHeld(cycle);
    this.#loading = false;
    this.setup.began(++this.cyclesBegun, cycle);
    this.#busyUntil = cycle + (this.#asked === 'erase' ? eraseCycles : this.#cycle);
  }

  #finish(): void {
    const { cells } = this.setup;
    if (this.#asked === 'erase') for (let a = 0; a <= this.#addressMask; a++) cells.write(a, 0xff);
    else if (this.#allowed) for (const [address, data] of this.#buffer) cells.write(address, data);
    if (this.#asked === 'enable') this.protectionOn = true;
    if (this.#asked === 'disable') this.protectionOn = false;
    this.#stuckBusy = this.#neverReady;
    this.#endOfCycle();
    this.setup.finished();
  }

  #endOfCycle(): void {
    this.#busyUntil = 0;
    this.#loading = false;
    this.#held = [];
    this.#buffer.clear();
    this.#page = -1;
    this.#unlocked = false;
    this.#asked = null;
  }
}
