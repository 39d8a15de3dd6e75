// A host by hand for the firmware's tests: sends lines to an emulated bench and collects what comes back, on the bench's clock.
import { readFileSync } from 'node:fs';
import { findPart } from '../../src/chip/chip-table.js';
import { type NewBench, newBenchState } from '../../src/emulator/bench-state.js';
import { EmulatedBench } from '../../src/emulator/emulated-bench.js';
import { bytesOfText, hex } from '../../src/ground/byte-text.js';
import { crc16Ibm3740 } from '../../src/ground/check-sums.js';

const firmware = readFileSync(new URL('../../firmware/romkiln-writer.hex', import.meta.url), 'utf8');

/** Cycles of the writer's clock in a millisecond and in a microsecond. */
export const cyclesPerMs = 16_000;
export const cyclesPerUs = 16;

/** A line as it travels, from what stands in front of its check sequence. */
export const checked = (body: string): string => `${body} ${hex(crc16Ibm3740(bytesOfText(body)), 4)}`;

/** What the check sequence of a good line covers; a line that is not good comes back in angle brackets. */
const unchecked = (line: string): string => {
  const body = line.slice(0, -5);
  return checked(body) === line ? body : `<${line}>`;
};

export type SessionBench = Omit<NewBench, 'part'> & { readonly part: string };

export class BenchSession {
  readonly bench: EmulatedBench;
  #text = '';
  #lines: string[] = [];
  /** When each line's LF had arrived, in cycles. */
  readonly arrivals: number[] = [];

  constructor(options: SessionBench) {
    this.bench = new EmulatedBench({ state: newBenchState({ ...options, part: findPart(options.part) }), firmware });
  }

  /** Sends raw text. */
  raw(text: string): void {
    this.bench.send(bytesOfText(text));
  }

  /** Sends lines, each with its check sequence. */
  send(...bodies: readonly string[]): void {
    this.raw(bodies.map((body) => `${checked(body)}\n`).join(''));
  }

  /** Lets so much time pass and gives the lines that came. */
  wait(ms: number): string[] {
    const until = this.bench.cycles + ms * cyclesPerMs;
    while (this.bench.cycles < until) {
      this.bench.advance(until);
      this.#collect();
    }
    return this.#lines.splice(0);
  }

  /** Lets time pass until so many lines have come; throws where they do not within `limitMs`. */
  lines(count: number, limitMs = 2000): string[] {
    const until = this.bench.cycles + limitMs * cyclesPerMs;
    while (this.#lines.length < count) {
      if (this.bench.cycles >= until) throw new Error(`only ${JSON.stringify(this.#lines)} came within ${limitMs} ms`);
      this.bench.advance(until);
      this.#collect();
    }
    return this.#lines.splice(0, count);
  }

  /** Sends one line and gives the lines up to its answer (`ok`, `no` or `writer` with its number). */
  ask(body: string, limitMs = 2000): string[] {
    this.send(body);
    const number = body.slice(0, 2);
    const got: string[] = [];
    for (;;) {
      const [line] = this.lines(1, limitMs);
      got.push(line!);
      if (line!.startsWith(`${number} `) && /^.. (ok|no|writer)\b/.test(line!)) return got;
    }
  }

  /** Waits for the greeting, chooses the chip, changes to another rate if one is given. */
  begin(chip: string, baud = 115_200): void {
    this.lines(1);
    if (baud !== 115_200) this.rate(baud);
    const answer = this.ask(`F0 chip ${chip}`);
    if (answer[0] !== 'F0 ok') throw new Error(answer.join());
  }

  rate(baud: number): string[] {
    const answer = this.ask(`F1 rate ${hex(baud, 1)}`);
    this.bench.line.setHostBaud(baud, this.bench.cycles);
    this.wait(1);
    return answer;
  }

  get rulesBroken(): readonly string[] {
    return this.bench.violations.map((v) => `${v.rule} at ${v.cycle}: ${v.detail}`);
  }

  #collect(): void {
    this.#text += Buffer.from(this.bench.line.take(this.bench.cycles)).toString('latin1');
    for (let end = this.#text.indexOf('\n'); end >= 0; end = this.#text.indexOf('\n')) {
      this.#lines.push(unchecked(this.#text.slice(0, end)));
      this.arrivals.push(this.bench.cycles);
      this.#text = this.#text.slice(end + 1);
    }
  }
}
