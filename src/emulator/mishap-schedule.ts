// Mishaps of the whole board, waiting for their places: once the place has come they have a cycle, and then they strike.
import type { BoardMishap } from './mishap.js';
import { cyclesOfUs } from './time-units.js';

/** How finely the bench looks for the beginning of a write cycle while a mishap waits for one. */
const grain = cyclesOfUs(50);

export class MishapSchedule {
  #waiting: BoardMishap[] = [];
  #striking: { readonly mishap: BoardMishap; readonly cycle: number }[] = [];

  /** `known`: told when a mishap has got its cycle, which may be now. */
  constructor(private readonly known: (cycle: number) => void) {}

  add(mishap: BoardMishap): void {
    if ('cycle' in mishap.at) this.#striking.push({ mishap, cycle: mishap.at.cycle });
    else this.#waiting.push(mishap);
  }

  clear(): void {
    this.#waiting = [];
    this.#striking = [];
  }

  get waitsForWriteCycle(): boolean {
    return this.#waiting.some((m) => 'writeCycle' in m.at);
  }

  /** The cycle by which the bench must look here again. */
  nextLook(now: number): number {
    const known = Math.min(...this.#striking.map((s) => s.cycle));
    return this.waitsForWriteCycle ? Math.min(known, now + grain) : known;
  }

  /** So many bytes have gone in each direction by `now`. */
  bytesPassed(toWriter: number, toHost: number, now: number): void {
    if (this.#waiting.length === 0) return;
    this.#come(
      ({ at }) =>
        ('byteToWriter' in at && at.byteToWriter <= toWriter) || ('byteToHost' in at && at.byteToHost <= toHost),
      () => now,
    );
  }

  /** The `count`-th write cycle of the chip began at `cycle`. */
  writeCycleBegan(count: number, cycle: number): void {
    this.#come(
      ({ at }) => 'writeCycle' in at && at.writeCycle === count,
      ({ at }) => cycle + cyclesOfUs('afterUs' in at ? at.afterUs : 0),
    );
  }

  /** Takes the mishaps that are due by `now`, earliest first. */
  due(now: number): readonly BoardMishap[] {
    if (this.#striking.length === 0) return [];
    const due = this.#striking.filter((s) => s.cycle <= now);
    this.#striking = this.#striking.filter((s) => s.cycle > now);
    return due.sort((a, b) => a.cycle - b.cycle).map((s) => s.mishap);
  }

  #come(hasCome: (m: BoardMishap) => boolean, when: (m: BoardMishap) => number): void {
    const come = this.#waiting.filter(hasCome);
    this.#waiting = this.#waiting.filter((m) => !hasCome(m));
    for (const mishap of come) {
      this.#striking.push({ mishap, cycle: when(mishap) });
      this.known(when(mishap));
    }
  }
}
