// The mock writer's `read` and `sum`: lines made one after the other while they are sent.
import { crc32IsoHdlc } from '../../src/ground/check-sums.js';
import { okFields } from '../../src/protocol/codec.js';
import type { Answer } from '../../src/protocol/message.js';
import type { WriterRules } from './writer-rules.js';

export interface StreamTools {
  readonly rules: WriterRules;
  read(address: number): number;
  /** Sends one line; calls back when it has left. */
  send(line: Answer, then: () => void): void;
}

export class Stream {
  /** Another number at every start and end, so that what was begun before goes no further. */
  private generation = 0;
  running = false;

  constructor(private readonly tools: StreamTools) {}

  forget(): void {
    this.generation++;
    this.running = false;
  }

  read(seq: number, address: number, count: number): void {
    const { rules } = this.tools;
    let sum: number | undefined;
    this.run(
      seq,
      count,
      rules.dataBytes,
      (from, size) => {
        const bytes = this.bytes(address + from, size);
        sum = rules.sumOf(bytes, sum);
        return { word: 'data', seq, address: address + from, bytes };
      },
      () => okFields('read', { sum: sum ?? crc32IsoHdlc(new Uint8Array()) }),
    );
  }

  sum(seq: number, address: number, count: number, page: number): void {
    const { rules } = this.tools;
    const pages = count / page;
    this.run(
      seq,
      pages,
      rules.sumsPerLine,
      (from, size) => {
        const start = address + from * page;
        const sums = Array.from({ length: size }, (_, i) => rules.sumOf(this.bytes(start + i * page, page)));
        return { word: 'sums', seq, address: start, sums };
      },
      () => okFields('sum', { count: rules.countsPages ? pages : count }),
    );
  }

  private bytes(address: number, count: number): Uint8Array {
    return Uint8Array.from({ length: count }, (_, i) => this.tools.read(address + i));
  }

  /** Sends `count` things in lines of at most `perLine`, then the `ok`. */
  private run(
    seq: number,
    count: number,
    perLine: number,
    line: (from: number, size: number) => Answer,
    fields: () => string[],
  ): void {
    this.running = true;
    const generation = ++this.generation;
    const step = (from: number): void => {
      if (generation !== this.generation) return;
      if (from < count) {
        const size = Math.min(perLine, count - from);
        this.tools.send(line(from, size), () => step(from + size));
        return;
      }
      this.running = false;
      this.tools.send({ word: 'ok', seq, fields: fields() }, () => {});
    };
    step(0);
  }
}
