// Keeps a bench to real time, for programs that come through a pseudo terminal. Such a line shows neither the host's rate,
// so the writer's own is taken for it, nor a reset.
import type { Clock } from '../ground/clock.js';
import type { EmulatedBench } from './emulated-bench.js';
import { cyclesOfMs } from './time-units.js';

/** How often the bench catches up with real time. */
const beatMs = 2;
/** A bench further behind than this (the machine was busy, or asleep) gives up the rest. */
const lagMaxMs = 200;

export class RealTimePump {
  #cancel: (() => void) | null = null;
  /** Where bench and clock stood together. */
  #baseCycle = 0;
  #baseMs = 0;

  constructor(
    private readonly bench: EmulatedBench,
    /** A clock of real time. */
    private readonly clock: Clock,
    /** Hears what the writer sends. */
    private readonly toHost: (bytes: Uint8Array) => void,
    /** Hears once why the bench cannot go on: its file cannot be saved. The pump has stopped then. */
    private readonly failed: (why: unknown) => void,
  ) {
    bench.line.followsWriter = true;
  }

  start(): void {
    this.#base();
    this.#beat();
  }

  /** What the far program sent. */
  received(bytes: Uint8Array): void {
    this.bench.send(bytes);
  }

  /** Ends the pump; the chip finishes its write cycle and the bench is saved. */
  stop(): void {
    this.#cancel?.();
    this.#cancel = null;
    this.bench.rest();
  }

  #base(): void {
    this.#baseCycle = this.bench.cycles;
    this.#baseMs = this.clock.now();
  }

  #beat(): void {
    this.#cancel = this.clock.after(beatMs, () => {
      const target = this.#baseCycle + cyclesOfMs(this.clock.now() - this.#baseMs);
      try {
        if (target - this.bench.cycles > cyclesOfMs(lagMaxMs)) this.#base();
        else this.#catchUp(target);
        this.#beat();
      } catch (error) {
        this.failed(error);
      }
    });
  }

  #catchUp(target: number): void {
    while (this.bench.cycles < target) {
      this.bench.advance(target);
      const bytes = this.bench.line.take(this.bench.cycles);
      if (bytes.length > 0) this.toHost(bytes);
    }
  }
}
