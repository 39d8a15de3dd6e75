// The bench's own time as a Clock: it stands still while the host computes, and runs while the host waits for a deadline,
// up to the next byte due at the host or the next deadline. So a job takes the same cycles on a fast and on a busy machine.
import type { Clock } from '../ground/clock.js';
import { cyclesOfMs, msOfCycles } from './time-units.js';

/** What can pass time. */
interface Passing {
  readonly cycles: number;
  advance(until: number): void;
}

interface Timer {
  readonly due: number;
  readonly callback: () => void;
}

/** Turns of the event loop that the host gets after each thing it was told: one for its reaction, one for what follows from it. */
const turnsOfHost = 2;
/** The longest stretch without a turn, so that a signal from the keyboard gets through. */
const stretch = cyclesOfMs(20);

export class BenchClock implements Clock {
  #timers: Timer[] = [];
  #running = false;

  constructor(
    private readonly bench: Passing,
    /** Gives the host what is due; true when there was something. */
    private readonly deliver: () => boolean,
    /** Hears what the bench itself could not do (its file could not be saved). */
    private readonly failed: (error: unknown) => void,
  ) {}

  now(): number {
    return msOfCycles(this.bench.cycles);
  }

  after(ms: number, callback: () => void): () => void {
    const timer: Timer = { due: this.bench.cycles + cyclesOfMs(Math.max(0, ms)), callback };
    // Behind all that are due at the same cycle or before.
    const place = this.#timers.findIndex((t) => t.due > timer.due);
    this.#timers.splice(place < 0 ? this.#timers.length : place, 0, timer);
    if (!this.#running) {
      this.#running = true;
      this.#hostTurn();
    }
    return () => {
      this.#timers = this.#timers.filter((t) => t !== timer);
    };
  }

  #hostTurn(): void {
    let turns = turnsOfHost;
    const turn = (): void => {
      turns--;
      if (turns > 0) setImmediate(turn);
      else this.#step();
    };
    setImmediate(turn);
  }

  /** One thing at a time: bytes, or a deadline, or time. Then the host has its turn. */
  #step(): void {
    const first = this.#timers[0];
    if (this.deliver()) this.#hostTurn();
    else if (!first) this.#running = false;
    else {
      this.#hostTurn();
      if (first.due <= this.bench.cycles) {
        this.#timers.shift();
        first.callback();
      } else this.#pass(Math.min(first.due, this.bench.cycles + stretch));
    }
  }

  #pass(until: number): void {
    try {
      this.bench.advance(until);
    } catch (error) {
      this.failed(error);
    }
  }
}
