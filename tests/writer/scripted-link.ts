// A link whose far end is the test itself, and a clock that moves only when the test says so.
import type { Link, LinkListener } from '../../src/link/link.js';
import { encodeAnswer } from '../../src/protocol/codec.js';
import { firmwareLimits } from '../../src/protocol/limits.js';
import { withCheck } from '../../src/protocol/line.js';
import { searchLine, searchSeq } from '../../src/protocol/search-line.js';

/** Lets everything happen that waits for no time. */
export const settled = (): Promise<void> => new Promise((resolve) => setImmediate(resolve));

export class ScriptedLink implements Link {
  readonly path = 'scripted';
  /** Lines that the host sent and the test has not looked at, without LF; empty ones are left out. */
  said: string[] = [];
  /** Everything that was sent, as it was sent. */
  readonly sent: string[] = [];
  baud = 115200;
  isOpen = true;
  /** A writer with this nonce answers every search line by itself, which is then not among what was said; null: the test answers. */
  present: number | null = null;
  /** Rates that were set, and what setting one meets; replace it to let a port refuse. */
  readonly ratesSet: number[] = [];
  setting: (baud: number) => Promise<void> = async () => {};
  /** What `send` gives back; replace it to let a device hang. */
  sending: () => Promise<void> = async () => {};
  #listener: LinkListener | null = null;
  #now = 0;
  #timers: { readonly at: number; readonly callback: () => void }[] = [];

  readonly clock = {
    now: (): number => this.#now,
    after: (ms: number, callback: () => void): (() => void) => {
      const timer = { at: this.#now + ms, callback };
      this.#timers.push(timer);
      return () => {
        this.#timers = this.#timers.filter((t) => t !== timer);
      };
    },
  };

  send(text: string): Promise<void> {
    const nonce = this.present;
    if (text === searchLine && nonce !== null) {
      queueMicrotask(() => void this.answerSearch(nonce));
      return this.sending();
    }
    this.sent.push(text);
    this.said.push(...text.split('\n').filter((line) => line !== ''));
    return this.sending();
  }
  listen(listener: LinkListener): void {
    this.#listener = listener;
  }
  async setRate(baud: number): Promise<void> {
    this.ratesSet.push(baud);
    await this.setting(baud);
    this.baud = baud;
  }
  async close(): Promise<void> {
    this.isOpen = false;
  }

  /** Says text with its check sequence. */
  async reply(...texts: string[]): Promise<void> {
    for (const text of texts) this.#listener?.line(withCheck(text).slice(0, -1));
    await settled();
  }
  /** Says texts with their check sequences, each when what the one before set off is done. */
  async replyInTurn(...texts: string[]): Promise<void> {
    for (const text of texts) await this.reply(text);
  }
  /** Says a line as it stands. */
  async replyRaw(line: string): Promise<void> {
    this.#listener?.line(line);
    await settled();
  }
  /** Answers the search line. */
  answerSearch(nonce: number): Promise<void> {
    return this.greet(nonce, searchSeq);
  }
  async greet(nonce: number, seq = 0): Promise<void> {
    await this.replyRaw(encodeAnswer({ word: 'writer', seq, ...firmwareLimits, nonce }).slice(0, -1));
  }
  /** Says more than any line may hold. */
  async rave(): Promise<void> {
    this.#listener?.overlong();
    await settled();
  }
  async lose(): Promise<void> {
    this.#listener?.closed(null);
    await settled();
  }

  /** Lets time pass; callbacks come in their order, with whatever they set off done before the next. */
  async pass(ms: number): Promise<void> {
    await settled();
    const end = this.#now + ms;
    for (;;) {
      const next = this.#timers.filter((t) => t.at <= end).sort((a, b) => a.at - b.at)[0];
      if (!next) break;
      this.#timers = this.#timers.filter((t) => t !== next);
      this.#now = next.at;
      next.callback();
      await settled();
    }
    this.#now = end;
  }

  /** The lines said since the last look, without their check sequences. */
  heard(): string[] {
    return this.said.splice(0).map((line) => line.slice(0, -5));
  }
}
