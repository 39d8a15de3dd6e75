// Lines to and from one writer: numbers given and recognised, everything counted, restarts and a lost port noticed.
import { ToolError } from '../ground/errors.js';
import { addressText } from '../ground/quantity.js';
import type { Link } from '../link/link.js';
import { decodeAnswer, encodeRequest } from '../protocol/codec.js';
import { greetingBaud, nextSeq } from '../protocol/limits.js';
import type { Answer, ChipChoice, Request, WriterLine } from '../protocol/message.js';
import { searchSeq } from '../protocol/search-line.js';

/** What went back and forth, for reports. */
export interface Counts {
  /** Lines sent, first sendings and repeats together. */
  sent: number;
  /** Lines sent again because no answer came, or not a good one. */
  resent: number;
  /** Good lines heard. */
  heard: number;
  /** Lines heard that were no good line of the protocol, or too long. */
  garbled: number;
  /** Lines of ours that the writer could not read. */
  refusedLines: number;
  restarts: number;
}

/** Whoever is talking with the writer now. */
export interface Hearer {
  answer(answer: Answer): void;
  /** The writer could not read a line of ours (refusal 1 or 2 without a number). */
  lineRefused(): void;
  /** Something was heard that is no good line. */
  garbled(): void;
  /** The port is lost, or the writer restarted: no answer will come. */
  failed(error: Error): void;
}

/** The writer restarted: its chip choice and all blocks are forgotten there. Caught inside this room. */
export class Restarted extends Error {}

/** Too many lines are lost at the rate of now. Caught inside this room. */
export class LossyRate extends Error {}

/** No answer after all repeats. Caught inside this room. */
export class NoAnswer extends Error {}

/**
 * A lost line weighs as much as so many good ones, and at this weight the rate is left: a dozen lines where every second one is lost,
 * a few dozen at 30 %; one in ten, which a weak line may lose at any rate, never gets there but by rare chance.
 */
const weightOfLoss = 3;
const weightMost = 15;

export class Conversation {
  readonly counts: Counts = { sent: 0, resent: 0, heard: 0, garbled: 0, refusedLines: 0, restarts: 0 };
  /** The rate at which the port runs. */
  baud = greetingBaud;
  /** The writer as it introduced itself last; null before that. */
  writer: WriterLine | null = null;
  /** The chip as it was chosen last; null before that. */
  chip: ChipChoice | null = null;
  /** Numbers of blocks that are outstanding: they are not given again. */
  readonly reserved = new Set<number>();
  /** The rate may be left for a lower one in the middle of a job. */
  mayStepDown = false;
  #lossWeight = 0;
  /** A search found nobody, and nobody has spoken since: what is at the other end may be a boot loader. */
  lost = false;
  #seq = 0;
  #hearer: Hearer | null = null;
  #failure: Error | null = null;

  constructor(readonly link: Link) {
    link.listen({
      line: (text) => this.#line(text),
      overlong: () => this.#garbled(),
      closed: (reason) => this.#fail(reason ?? new ToolError('link.gone', { path: link.path })),
    });
  }

  /** From now on `hearer` hears; null: nobody waits. A failure that nobody heard is told at once. */
  hear(hearer: Hearer | null): void {
    if (hearer && this.#hearer) throw new Error('broken promise: one request at a time');
    this.#hearer = hearer;
    this.#tellFailure();
  }

  /** A request as a line with a number of its own. */
  compose(request: Request): { readonly seq: number; readonly line: string } {
    do this.#seq = nextSeq(this.#seq);
    while (this.#seq === searchSeq || this.reserved.has(this.#seq));
    return { seq: this.#seq, line: encodeRequest(this.#seq, request) };
  }

  /** Sends a line that was composed. A repeat is preceded by an empty line, which ends a half line at the writer. */
  transmit(line: string, again: boolean): void {
    this.counts.sent++;
    if (again) this.counts.resent++;
    // Whether it arrived is told by the answer; a port that is lost tells it here or by closing.
    this.link.send(again ? `\n${line}` : line).catch((error: Error) => this.#fail(error));
  }

  /** Lines that came so far, good or bad: where it does not grow, nothing at all arrived. */
  get linesHeard(): number {
    return this.counts.heard + this.counts.garbled;
  }

  /** Lines in a row are lost at this rate, there is a lower one, and it may be taken. */
  get isLossy(): boolean {
    return this.mayStepDown && this.baud > greetingBaud && this.#lossWeight >= weightMost;
  }

  /** Changes the port's own rate. */
  async setPortRate(baud: number): Promise<void> {
    await this.link.setRate(baud);
    this.baud = baud;
    this.#lossWeight = 0;
  }

  /** Milliseconds that so many characters take at the rate of now: 10 bits each. */
  transferMs(characters: number): number {
    return (characters * 10_000) / this.baud;
  }

  /**
   * Once the writer is known: how long to wait for the first or next character of an answer, milliseconds: the silence that the writer announced,
   * `onTheWay` characters, and what adapters and the host's own system add (16 ms is usual, a busy host takes more).
   */
  waitMs(onTheWay: number): number {
    return this.writer!.silenceMs + this.transferMs(onTheWay) + 100;
  }

  /** An address as people read it, with as many digits as the chosen chip needs. */
  addressText(address: number): string {
    return addressText(address, this.chip?.cells ?? 0);
  }

  #line(text: string): void {
    const decoded = decodeAnswer(text);
    if (!decoded.good) {
      this.#garbled();
      return;
    }
    this.counts.heard++;
    this.lost = false;
    this.#lossWeight = Math.max(0, this.#lossWeight - 1);
    const answer = decoded.message;
    if (answer.seq !== 0) this.#hearer?.answer(answer);
    else if (answer.word === 'writer') this.#greeting(answer);
    else if (answer.word === 'no') {
      this.counts.refusedLines++;
      this.#lossWeight += weightOfLoss;
      this.#hearer?.lineRefused();
    }
  }

  /** A greeting that nobody expects means that the writer restarted; the first one is what openWriter waits for. */
  #greeting(answer: Answer & { word: 'writer' }): void {
    if (this.writer === null) this.#hearer?.answer(answer);
    else if (answer.nonce !== this.writer.nonce) this.#fail(new Restarted());
  }

  #garbled(): void {
    this.counts.garbled++;
    this.#lossWeight += weightOfLoss;
    this.#hearer?.garbled();
  }

  #fail(error: Error): void {
    this.#failure = error;
    this.#tellFailure();
  }

  /** To whoever hears now, else to the next one. A lost port stays lost; a restart is told once. */
  #tellFailure(): void {
    const failure = this.#failure;
    if (!failure || !this.#hearer) return;
    if (failure instanceof Restarted) this.#failure = null;
    this.#hearer.failed(failure);
  }
}
