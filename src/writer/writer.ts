// The host's hold on a writer: what can be asked of it, carried through lost lines and restarts.
import { ToolError } from '../ground/errors.js';
import type { Link } from '../link/link.js';
import { answerFields, type OkValues } from '../protocol/codec.js';
import { greetingBaud, windowOf } from '../protocol/limits.js';
import type { ChipChoice, HeldData, Request, WriterLine } from '../protocol/message.js';
import { type BlockOutcome, BlockWriting, type WriteBlock, type WriteOptions } from './block-writing.js';
import { blockLimitMs } from './chip-choice.js';
import { Conversation, type Counts, Restarted } from './conversation.js';
import { ask } from './exchange.js';
import { findWriter, firstSearch } from './greeting.js';
import { changeRate, fastestRate, preferredRates, type RateMemory } from './line-rate.js';
import { readRange, sumRange } from './range-stream.js';
import { Steadiness, type WriterEvent } from './steadiness.js';

export type { BlockOutcome, Counts, RateMemory, WriteBlock, WriteOptions, WriterEvent };

export interface WriterOptions {
  readonly onEvent?: (event: WriterEvent) => void;
}

export interface WaitOptions {
  readonly signal?: AbortSignal | undefined;
}

/**
 * One writer at the other end of a link. One request at a time; only `stop` may be called in between.
 * Methods reject with a ToolError: `link.gone`, `writer.lost`, `writer.restarted-too-often`, `writer.stopped`, or the
 * refusal named at the method.
 */
export interface Writer {
  /** How it introduced itself last: its limits, its nonce, its build. */
  readonly introduction: WriterLine;
  /** The rate at which the line runs, baud. */
  readonly baud: number;
  /** Lines sent, resent, heard and damaged since it was opened. */
  readonly counts: Readonly<Counts>;
  /** Most blocks outstanding with the chosen chip. */
  readonly window: number;
  identify(): Promise<WriterLine>;
  /** Resolves with the bytes that came back; at most `introduction.echo` of them. */
  echo(bytes: Uint8Array): Promise<Uint8Array>;
  /** Both ends to this rate, proven by a short trial. Rejects with writer.rate, and then both are at 115200 or stayed where they were. */
  setRate(baud: number): Promise<void>;
  /** The fastest rate that a short trial proves: the remembered one first, then `preferred` in order. Resolves with the rate that stands. */
  chooseRate(preferred?: readonly number[], memory?: RateMemory | null): Promise<number>;
  /** Chooses the chip (`chipChoice` makes the choice from a part). Everything below touches the chip and needs it, but `registers` and `hold`. */
  chip(choice: ChipChoice): Promise<void>;
  /** Address registers counted through the chain return; 0: no return seen. */
  registers(): Promise<number>;
  /** Data lines that followed the charge both times, a bit each. Rejects with writer.not-driven when all did. */
  presence(address: number): Promise<number>;
  /** Bytes of `count` cells from `from`, confirmed by the writer's CRC-32; `onProgress` gets the number of cells read so far. */
  read(from: number, count: number, onProgress?: (done: number) => void, options?: WaitOptions): Promise<Uint8Array>;
  /** CRC-32 of each page of a range; `from` and `count` are multiples of `page` (1 to 4096). `onProgress` gets cells. */
  sums(
    from: number,
    count: number,
    page: number,
    onProgress?: (done: number) => void,
    options?: WaitOptions,
  ): Promise<number[]>;
  /**
   * Writes blocks through the window. Resolves with one outcome a block, also when stopped; a block that never became
   * ready stops the rest.
   */
  writeBlocks(blocks: readonly WriteBlock[], options?: WriteOptions): Promise<readonly BlockOutcome[]>;
  /** Software data protection on. Rejects with writer.no-protection or writer.never-ready. */
  protect(): Promise<void>;
  /** Software data protection off. */
  unprotect(): Promise<void>;
  /** Holds the lines still until the next request; resolves with the data lines as read. Rejects with writer.unsafe-hold. */
  hold(address: number, control: number, data: HeldData): Promise<number>;
  /** Ends whatever goes on and parks the lines. */
  park(): Promise<void>;
  /** Interrupts the read, sums or writeBlocks in progress: the write cycle in progress ends, the rest is dropped. */
  stop(): void;
  /** Parks the lines, goes back to 115200 and closes the port. Never rejects; safe to call twice. */
  close(): Promise<void>;
}

const retriesAtClose = 1;

/**
 * Finds the writer on a link that was just opened at 115200. Rejects, with the link closed, with writer.silent,
 * writer.noise, writer.older, writer.newer or link.gone.
 */
export async function openWriter(link: Link, { onEvent }: WriterOptions = {}): Promise<Writer> {
  const conversation = new Conversation(link);
  try {
    const found = await findWriter(conversation, firstSearch);
    if (!found) {
      const { path } = link;
      const lines = conversation.counts.garbled;
      throw lines > 0
        ? new ToolError('writer.noise', { path, baud: greetingBaud, lines })
        : new ToolError('writer.silent', { path, seconds: firstSearch.limitMs / 1000 });
    }
    const writer = new OpenWriter(conversation, onEvent ?? (() => {}));
    // Work of a host that went away may still be going on.
    if (!found.fresh) await writer.park();
    return writer;
  } catch (error) {
    await link.close();
    throw error;
  }
}

class OpenWriter implements Writer {
  readonly #steady: Steadiness;
  #interrupt: AbortController | null = null;
  #closing: Promise<void> | null = null;

  constructor(
    private readonly conversation: Conversation,
    tell: (event: WriterEvent) => void,
  ) {
    this.#steady = new Steadiness(conversation, tell, {
      choose: async () => {
        if (conversation.chip) await this.#choose(conversation.chip);
      },
      blockMs: () => this.#blockMs(),
    });
  }

  get introduction(): WriterLine {
    return this.conversation.writer!;
  }
  get baud(): number {
    return this.conversation.baud;
  }
  get counts(): Readonly<Counts> {
    return this.conversation.counts;
  }
  get window(): number {
    return windowOf(this.introduction, this.#chosen().page);
  }

  async identify(): Promise<WriterLine> {
    await this.#steady.do('who', async () => {
      const answer = await ask(this.conversation, { word: 'who' });
      if (answer.word === 'writer' && answer.nonce !== this.introduction.nonce) throw new Restarted();
    });
    return this.introduction;
  }

  async echo(bytes: Uint8Array): Promise<Uint8Array> {
    return (await this.#values({ word: 'echo', bytes }, 'echo')).bytes;
  }

  async setRate(baud: number): Promise<void> {
    const { path } = this.conversation.link;
    // A single lost byte is no reason against a rate that somebody asked for by name.
    const works = await this.#steady.do(
      'rate',
      async () => (await changeRate(this.conversation, baud)) || changeRate(this.conversation, baud),
    );
    if (!works) throw new ToolError('writer.rate', { path, baud, rates: this.introduction.rates });
  }

  chooseRate(preferred = preferredRates, memory: RateMemory | null = null): Promise<number> {
    // Who lets the rate be chosen lets it be left, too.
    this.conversation.mayStepDown = true;
    this.#steady.memory = memory;
    return this.#steady.do('rate', () => fastestRate(this.conversation, preferred, memory));
  }

  async chip(choice: ChipChoice): Promise<void> {
    this.conversation.chip = choice;
    await this.#steady.do('chip', () => this.#choose(choice));
  }

  async registers(): Promise<number> {
    return (await this.#values({ word: 'registers' }, 'registers')).count;
  }

  async presence(address: number): Promise<number> {
    this.#chosen();
    return (await this.#values({ word: 'presence', address }, 'presence')).mask;
  }

  read(
    from: number,
    count: number,
    onProgress?: (done: number) => void,
    options: WaitOptions = {},
  ): Promise<Uint8Array> {
    this.#chosen();
    return this.#interruptibly('read', options, (signal) =>
      readRange(this.conversation, from, count, { onProgress, signal }),
    );
  }

  sums(
    from: number,
    count: number,
    page: number,
    onProgress?: (done: number) => void,
    options: WaitOptions = {},
  ): Promise<number[]> {
    this.#chosen();
    return this.#interruptibly('sum', options, (signal) =>
      sumRange(this.conversation, from, count, page, { onProgress, signal }),
    );
  }

  async writeBlocks(blocks: readonly WriteBlock[], options: WriteOptions = {}): Promise<readonly BlockOutcome[]> {
    const interrupt = this.#begin(options.signal);
    const writing = new BlockWriting(this.conversation, blocks, this.#chosen(), { ...options, signal: interrupt });
    await this.#steady.do(
      'write',
      () => writing.run(),
      () => writing.answeredCount,
    );
    return writing.outcomes.map((outcome) => outcome!);
  }

  protect(): Promise<void> {
    return this.#sendCodes('protect');
  }

  unprotect(): Promise<void> {
    return this.#sendCodes('unprotect');
  }

  async hold(address: number, control: number, data: HeldData): Promise<number> {
    return (await this.#values({ word: 'hold', address, control, data }, 'hold')).bus;
  }

  async park(): Promise<void> {
    await this.#steady.do('stop', () => ask(this.conversation, { word: 'stop' }, { chipMs: this.#blockMs() }));
  }

  stop(): void {
    this.#interrupt?.abort();
  }

  close(): Promise<void> {
    this.#closing ??= this.#close();
    return this.#closing;
  }

  async #close(): Promise<void> {
    const terms = { retries: retriesAtClose, chipMs: this.#blockMs() };
    try {
      // To whoever does not answer nothing is said any more: it may be a boot loader.
      if (!this.conversation.lost) await ask(this.conversation, { word: 'stop' }, terms);
      if (this.baud !== greetingBaud && !this.conversation.lost)
        await ask(this.conversation, { word: 'rate', baud: greetingBaud }, { retries: 0 });
    } catch {
      // The writer finds its own way: it stops when nobody asks, and returns to 115200.
    }
    await this.conversation.link.close();
  }

  /** Milliseconds that the longest block may keep the writer from answering. */
  #blockMs(): number {
    const { chip } = this.conversation;
    return chip ? blockLimitMs(chip, Math.max(chip.page, this.introduction.cells)) : 0;
  }

  #chosen(): ChipChoice {
    const { chip } = this.conversation;
    if (!chip) throw new Error('broken promise: the chip is chosen before it is touched');
    return chip;
  }

  async #choose(choice: ChipChoice): Promise<void> {
    await ask(this.conversation, { word: 'chip', ...choice });
  }

  async #sendCodes(word: 'protect' | 'unprotect'): Promise<void> {
    const chipMs = blockLimitMs(this.#chosen(), 1);
    await this.#steady.do(word, () => ask(this.conversation, { word }, { chipMs }));
  }

  /** One request whose `ok` carries values. */
  #values<Word extends keyof OkValues>(request: Request & { word: Word }, word: Word): Promise<OkValues[Word]> {
    return this.#steady.do(word, async () => {
      const answer = await ask(this.conversation, request);
      const values = answer.word === 'ok' ? answerFields(word, answer.fields) : null;
      if (values) return values as OkValues[Word];
      const fields = answer.word === 'ok' ? answer.fields : [];
      throw new ToolError('writer.refused', { request: word, refusal: 0, name: 'an answer of another form', fields });
    });
  }

  #begin(signal: AbortSignal | undefined): AbortSignal {
    this.#interrupt = new AbortController();
    return signal ? AbortSignal.any([this.#interrupt.signal, signal]) : this.#interrupt.signal;
  }

  async #interruptibly<T>(
    word: string,
    { signal }: WaitOptions,
    work: (signal: AbortSignal) => Promise<T>,
  ): Promise<T> {
    const interrupt = this.#begin(signal);
    try {
      return await this.#steady.do(word, () => work(interrupt));
    } catch (error) {
      throw interrupt.aborted && error === interrupt.reason ? new ToolError('writer.stopped', {}) : error;
    }
  }
}
