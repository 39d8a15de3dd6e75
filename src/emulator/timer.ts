// Timer 0, 1 and 2, computed when somebody looks and not tick by tick: normal mode and clear on compare match.
// Not modelled: the waveform modes, compare outputs, input capture and external clocks, which no writer needs.
import type { CPU } from 'avr8js';

interface TimerPlace {
  readonly wide: boolean;
  readonly controlA: number;
  readonly controlB: number;
  readonly count: number;
  readonly compareA: number;
  readonly compareB: number;
  readonly flags: number;
  readonly mask: number;
  /** Interrupt vectors: compare A, compare B, overflow. */
  readonly vectors: readonly [number, number, number];
  readonly dividers: readonly number[];
}

const dividers01 = [0, 1, 8, 64, 256, 1024, 0, 0];
const dividers2 = [0, 1, 8, 32, 64, 128, 256, 1024];
const registers = (controlA: number, flags: number, mask: number) => ({
  controlA,
  controlB: controlA + 1,
  flags,
  mask,
});
const narrow = (controlA: number) => ({
  wide: false,
  count: controlA + 2,
  compareA: controlA + 3,
  compareB: controlA + 4,
});

/** Addresses and vectors: ATmega328P data sheet, register summary and interrupt vectors (word addresses). */
const places: readonly TimerPlace[] = [
  { ...registers(0x44, 0x35, 0x6e), ...narrow(0x44), vectors: [0x1c, 0x1e, 0x20], dividers: dividers01 },
  {
    ...registers(0x80, 0x36, 0x6f),
    ...{ wide: true, count: 0x84, compareA: 0x88, compareB: 0x8a },
    vectors: [0x16, 0x18, 0x1a],
    dividers: dividers01,
  },
  { ...registers(0xb0, 0x37, 0x70), ...narrow(0xb0), vectors: [0x0e, 0x10, 0x12], dividers: dividers2 },
];

const OCFA = 0x02;
const OCFB = 0x04;
const TOV = 0x01;

/** What a machine asks of its timers. */
export interface Timers {
  /** The first cycle at which a flag goes up by itself; until then no timer flag changes. */
  quietUntil(): number;
}

export const isTimerFlags = (address: number): boolean => places.some((p) => p.flags === address);

/** Puts all three timers into a CPU. */
export function wireTimers(cpu: CPU): Timers {
  const timers = places.map((place) => new Timer(cpu, place));
  return { quietUntil: () => Math.min(...timers.map((t) => t.quietUntil())) };
}

class Timer {
  #count = 0;
  /** Ticks of the prescaler that `#count` has taken in; the prescaler itself runs from reset. */
  #ticks = 0;
  #divider = 0;
  #compareA = 0;
  #compareB = 0;
  /** High byte on its way into or out of a 16-bit register (data sheet, accessing 16-bit registers). */
  #temporary = 0;
  readonly #max: number;
  readonly #interrupts: readonly {
    readonly flagMask: number;
    readonly vector: Parameters<CPU['setInterruptFlag']>[0];
  }[];
  readonly #due = (): void => {
    this.#settle();
    this.#expect();
  };

  constructor(
    private readonly cpu: CPU,
    private readonly place: TimerPlace,
  ) {
    this.#max = place.wide ? 0xffff : 0xff;
    this.#interrupts = [OCFA, OCFB, TOV].map((flagMask, i) => ({
      flagMask,
      vector: {
        address: place.vectors[i]!,
        flagRegister: place.flags,
        flagMask,
        enableRegister: place.mask,
        enableMask: flagMask,
      },
    }));
    this.#wire();
  }

  quietUntil(): number {
    this.#settle();
    const down = this.#interrupts.filter(({ flagMask }) => !(this.cpu.data[this.place.flags]! & flagMask));
    return this.#cycleOf(Math.min(...down.map(({ flagMask }) => this.#until(flagMask))));
  }

  /** The cycle at which so many more ticks have passed. */
  #cycleOf(ticks: number): number {
    return this.#divider === 0 ? Number.POSITIVE_INFINITY : (this.#ticks + ticks) * this.#divider;
  }

  #wire(): void {
    const { cpu, place } = this;
    const { data, readHooks, writeHooks } = cpu;
    for (const address of [place.controlA, place.controlB]) {
      writeHooks[address] = (value) => {
        this.#settle();
        data[address] = value;
        this.#divider = place.dividers[data[place.controlB]! & 7]!;
        this.#ticks = this.#ticksNow();
        this.#expect();
        return true;
      };
    }
    this.#wireCounter(
      place.count,
      () => this.#count,
      (value) => {
        this.#count = value;
      },
    );
    this.#wireCounter(
      place.compareA,
      () => this.#compareA,
      (value) => {
        this.#compareA = value;
      },
    );
    this.#wireCounter(
      place.compareB,
      () => this.#compareB,
      (value) => {
        this.#compareB = value;
      },
    );
    readHooks[place.flags] = () => {
      this.#settle();
      return data[place.flags]!;
    };
    writeHooks[place.flags] = (value, _old, _address, mask) => {
      this.#settle();
      for (const { vector } of this.#interrupts) cpu.clearInterruptByFlag(vector, value & mask);
      return true;
    };
    writeHooks[place.mask] = (value) => {
      this.#settle();
      data[place.mask] = value;
      for (const { vector } of this.#interrupts) cpu.updateInterruptEnable(vector, value);
      this.#expect();
      return true;
    };
  }

  #wireCounter(address: number, read: () => number, write: (value: number) => void): void {
    const { readHooks, writeHooks } = this.cpu;
    const changed = (value: number): boolean => {
      this.#settle();
      write(value);
      this.#expect();
      return true;
    };
    readHooks[address] = () => {
      this.#settle();
      this.#temporary = read() >> 8;
      return read() & 0xff;
    };
    writeHooks[address] = (value) => changed(this.place.wide ? (this.#temporary << 8) | value : value);
    if (!this.place.wide) return;
    readHooks[address + 1] = () => this.#temporary;
    writeHooks[address + 1] = (value) => {
      this.#temporary = value;
      return true;
    };
  }

  #ticksNow(): number {
    return this.#divider === 0 ? 0 : Math.floor(this.cpu.cycles / this.#divider);
  }

  /** The value after which the counter starts again at 0. */
  get #top(): number {
    const { data } = this.cpu;
    const { wide, controlA, controlB } = this.place;
    const clears = wide
      ? (data[controlB]! & 0x18) === 0x08 && (data[controlA]! & 3) === 0
      : (data[controlA]! & 3) === 2;
    return clears ? this.#compareA : this.#max;
  }

  /** Ticks from now to when a flag goes up next; a value beyond the top is never reached. */
  #until(flagMask: number): number {
    const top = this.#count > this.#top ? this.#max : this.#top;
    if (flagMask === TOV) return top === this.#max ? top + 1 - this.#count : Number.POSITIVE_INFINITY;
    const target = flagMask === OCFA ? this.#compareA : this.#compareB;
    if (target > top) return Number.POSITIVE_INFINITY;
    return target > this.#count ? target - this.#count : target + top + 1 - this.#count;
  }

  #settle(): void {
    const passed = this.#ticksNow() - this.#ticks;
    if (this.#divider === 0 || passed === 0) return;
    const { cpu } = this;
    for (const { flagMask, vector } of this.#interrupts) {
      if (!(cpu.data[this.place.flags]! & flagMask) && passed >= this.#until(flagMask)) cpu.setInterruptFlag(vector);
    }
    const top = this.#count > this.#top ? this.#max : this.#top;
    const value = this.#count + passed;
    this.#count = value <= top ? value : (value - top - 1) % (this.#top + 1);
    this.#ticks += passed;
  }

  /** Makes an appointment for the next interrupt, if one is enabled. */
  #expect(): void {
    const { cpu, place } = this;
    cpu.clearClockEvent(this.#due);
    const enabled = this.#interrupts.filter(({ flagMask }) => cpu.data[place.mask]! & flagMask);
    const due = this.#cycleOf(Math.min(...enabled.map(({ flagMask }) => this.#until(flagMask))));
    if (Number.isFinite(due)) cpu.addClockEvent(this.#due, due - cpu.cycles);
  }
}
