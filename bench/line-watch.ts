// Watches the serial line of an emulated bench: which line began, arrived and left when, in the bench's own cycles.
import type { EmulatedBench } from '../src/emulator/emulated-bench.js';
import { clockHz } from '../src/emulator/time-units.js';

/** A request as the line saw it. */
export interface SentLine {
  readonly word: string;
  /** When its first character began. */
  readonly begunAt: number;
  /** When its LF had reached the writer. */
  readonly arrivedAt: number;
}

/** All requests of one word, from the first character of the first to the end of the answer that left last. */
export interface Phase {
  readonly lines: readonly SentLine[];
  readonly begunAt: number;
  readonly endedAt: number;
  /** Cycles that the last answer's characters took. */
  readonly lastAnswerCycles: number;
}

interface OpenPhase {
  lines: SentLine[];
  endedAt: number;
  lastAnswerCycles: number;
}

export class LineWatch {
  #phases = new Map<string, OpenPhase>();
  #wordOfSeq = new Map<string, string>();
  #toWriter = '';
  #toHost = '';
  #lineFreeAt = 0;
  #begunAt = 0;

  /** Watches from now on; `baud` is the host's rate, which must stay. */
  constructor(bench: EmulatedBench, baud: number) {
    const characterCycles = (10 * clockHz) / baud;
    const send = bench.send.bind(bench);
    bench.send = (bytes) => {
      this.#sent(bytes, bench.cycles, characterCycles);
      send(bytes);
    };
    const { line } = bench;
    const fromWriter = line.fromWriter.bind(line);
    line.fromWriter = (byte, endCycle, bitCycles) => {
      this.#heard(byte, endCycle, 10 * bitCycles);
      return fromWriter(byte, endCycle, bitCycles);
    };
  }

  /** Forgets all phases. */
  restart(): void {
    this.#phases.clear();
  }

  /** The phase of a word since the last restart; null where no such line was sent. */
  phase(word: string): Phase | null {
    const open = this.#phases.get(word);
    return open ? { ...open, begunAt: open.lines[0]!.begunAt } : null;
  }

  #sent(bytes: Uint8Array, now: number, characterCycles: number): void {
    for (const byte of bytes) {
      const begun = Math.max(now, this.#lineFreeAt);
      this.#lineFreeAt = begun + characterCycles;
      if (this.#toWriter === '') this.#begunAt = begun;
      if (byte !== 0x0a) {
        this.#toWriter += String.fromCharCode(byte);
        continue;
      }
      const [seq = '', word = ''] = this.#toWriter.split(' ');
      this.#toWriter = '';
      this.#wordOfSeq.set(seq, word);
      const phase = this.#phases.get(word) ?? { lines: [], endedAt: 0, lastAnswerCycles: 0 };
      this.#phases.set(word, phase);
      phase.lines.push({ word, begunAt: this.#begunAt, arrivedAt: this.#lineFreeAt });
    }
  }

  #heard(byte: number, endCycle: number, characterCycles: number): void {
    if (byte !== 0x0a) {
      this.#toHost += String.fromCharCode(byte);
      return;
    }
    const [seq = '', word = ''] = this.#toHost.split(' ');
    const characters = this.#toHost.length + 1;
    this.#toHost = '';
    const phase = this.#phases.get(this.#wordOfSeq.get(seq) ?? '');
    if (!phase || (word !== 'ok' && word !== 'no')) return;
    phase.endedAt = endCycle;
    phase.lastAnswerCycles = characters * characterCycles;
  }
}
