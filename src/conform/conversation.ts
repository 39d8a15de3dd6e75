// A conversation with any writer, for conformance rules: it says lines, hears lines, and notes how well each is spelled.
import { base64OfBytes, bytesOfBase64, printable } from '../ground/byte-text.js';
import { pause } from '../ground/clock.js';
import type { Link } from '../link/link.js';
import { answerFields, decodeAnswer, encodeAnswer, okFields } from '../protocol/codec.js';
import { numberOfField } from '../protocol/field-kind.js';
import { greetingBaud, nextSeq } from '../protocol/limits.js';
import { composeLine, partsOfLine } from '../protocol/line.js';
import type { Answer, WriterLine } from '../protocol/message.js';
import type { RequestWord } from '../protocol/request-words.js';
import { broken } from './expectation.js';

/** A request with all lines of its answer; `answer` is the last of them. */
export interface Exchange {
  readonly seq: number;
  readonly lines: readonly Answer[];
  readonly answer: Answer;
}

/** A block as it was sent, whatever came of it. */
export interface ToldBlock {
  readonly address: number;
  readonly count: number;
}

/** Start bit, eight data bits, stop bit. */
const bitsPerByte = 10;
/** What drivers and USB adapters may add to an answer's way: 16 ms are usual, the rest is for a loaded machine. */
const adapterMs = 100;

/** A line without its CR and with its check sequence in upper case. */
export const mend = (line: string): string => {
  const text = line.replace(/\r$/, '');
  return text.slice(0, -4) + text.slice(-4).toUpperCase();
};

export class Conversation {
  baud = greetingBaud;
  /** The announced silence; what is waited before a writer said its own is the project's. */
  silenceMs = 0x1f4;
  /** The first readable line that the page would spell otherwise. */
  misspelt: string | null = null;
  /** The longest time by which an answer began too late, and its request. */
  latest: { readonly ms: number; readonly request: string } | null = null;
  private heard: { readonly line: string; readonly atMs: number }[] = [];
  private wake: (() => void) | null = null;
  private lost: Error | null = null;
  private closed = false;
  private lastSeq = 0;

  constructor(
    readonly link: Link,
    private readonly onBlock: (block: ToldBlock) => void = () => {},
  ) {
    const wake = (): void => this.wake?.();
    link.listen({
      line: (line) => {
        this.heard.push({ line, atMs: link.clock.now() });
        wake();
      },
      overlong: () => {
        this.misspelt ??= 'a line without end';
        wake();
      },
      closed: (reason) => {
        this.lost = reason;
        this.closed = true;
        wake();
      },
    });
  }

  pause(ms: number): Promise<void> {
    return pause(this.link.clock, ms);
  }

  /** A number that was not used just before. */
  seq(): number {
    this.lastSeq = nextSeq(this.lastSeq);
    return this.lastSeq;
  }

  /** How long text travels at the present rate. */
  travelMs(characters: number): number {
    return (characters * bitsPerByte * 1000) / this.baud;
  }

  async tell(text: string): Promise<void> {
    for (const line of text.split('\n')) this.noteBlock(line);
    await this.link.send(text);
  }

  async setRate(baud: number): Promise<void> {
    await this.link.setRate(baud);
    this.baud = baud;
  }

  /** The next line, or null when none comes in time. */
  async hear(withinMs: number): Promise<string | null> {
    return (await this.hearAt(withinMs))?.line ?? null;
  }

  /** Forgets lines until none came for `quietMs`; gives up on a writer that never stops. */
  async drain(quietMs: number): Promise<void> {
    for (let count = 0; count < 1000; count++) if ((await this.hear(quietMs)) === null) return;
  }

  /** The next line as an answer. Breaks the rule when none comes, or one that is no answer. `work` is the chip's own time. */
  async answer(to: string, workMs = 0): Promise<Answer> {
    const withinMs = 3 * this.silenceMs + adapterMs + workMs + this.travelMs(0x190);
    const line = await this.hear(withinMs);
    if (line === null) return broken(`an answer to \`${to}\``, `nothing for ${Math.round(withinMs)} ms`);
    return this.understand(line);
  }

  /** Sends a request under a new number and hears all of its answer. `workMs`: write cycles that it may take. */
  async ask(word: string, fields: readonly string[] = [], workMs = 0): Promise<Exchange> {
    return this.askAs(this.seq(), word, fields, workMs);
  }

  /** The same with a number of the caller's choice. */
  async askAs(seq: number, word: string, fields: readonly string[] = [], workMs = 0): Promise<Exchange> {
    const text = composeLine(seq, word, fields);
    const sentMs = this.link.clock.now();
    await this.tell(text);
    const exchange = await this.exchange(seq, text.slice(0, -6), workMs);
    const first = exchange.lines[0]!;
    const onTheWayMs = this.travelMs(text.length + encodeAnswer(first).length);
    this.noteLateness(text.slice(0, -6), this.firstHeardMs - sentMs - onTheWayMs - workMs);
    this.checkFields(word, exchange.answer);
    return exchange;
  }

  /** Hears all of the answer to a request that was sent. */
  async exchange(seq: number, request: string, workMs = 0): Promise<Exchange> {
    const lines: Answer[] = [];
    for (;;) {
      const line = await this.answer(request, workMs);
      if (lines.length === 0) this.firstHeardMs = this.heardMs;
      if (line.seq !== seq) broken(`the answer to \`${request}\``, `\`${encodeAnswer(line).slice(0, -6)}\``);
      lines.push(line);
      if (line.word === 'ok' || line.word === 'no' || line.word === 'writer') return { seq, lines, answer: line };
    }
  }

  /** Asks for an echo: whatever was said before must have been answered, and nothing more than that. */
  async probe(): Promise<void> {
    const bytes = Uint8Array.of(0x70, this.lastSeq);
    const { answer } = await this.ask('echo', [base64OfBytes(bytes)]);
    const seen = answer.word === 'ok' && answer.fields[0];
    if (seen !== base64OfBytes(bytes)) broken('the bytes of `echo`', `\`${encodeAnswer(answer).slice(0, -6)}\``);
  }

  async identify(): Promise<WriterLine> {
    const { answer } = await this.ask('who');
    return answer.word === 'writer' ? answer : broken('a `writer` line', `\`${encodeAnswer(answer).slice(0, -6)}\``);
  }

  private firstHeardMs = 0;
  private heardMs = 0;

  private async hearAt(withinMs: number): Promise<{ readonly line: string; readonly atMs: number } | null> {
    if (this.heard.length === 0 && !this.closed) await this.waitForLine(withinMs);
    const next = this.heard.shift();
    if (next) this.heardMs = next.atMs;
    if (!next && this.closed)
      throw this.lost ?? new Error('broken promise: the port was closed under a conformance run');
    return next ?? null;
  }

  private waitForLine(withinMs: number): Promise<void> {
    return new Promise((resolve) => {
      const done = (): void => {
        this.wake = null;
        cancel();
        resolve();
      };
      const cancel = this.link.clock.after(withinMs, done);
      this.wake = done;
    });
  }

  /** A line as an answer. A misspelling that leaves it readable is only noted: one rule says so, and the others go on. */
  private understand(line: string): Answer {
    const mended = mend(line);
    const decoded = decodeAnswer(mended);
    const well = decoded.good && encodeAnswer(decoded.message) === `${line}\n`;
    if (!well && partsOfLine(mended)) this.misspelt ??= printable(line);
    return decoded.good ? decoded.message : broken('a well-formed line', `\`${printable(line)}\``);
  }

  /** The fields of an `ok` depend on the request; their spelling is noted like that of all lines. */
  private checkFields(word: string, answer: Answer): void {
    if (answer.word !== 'ok') return;
    const values = answerFields(word as RequestWord, answer.fields);
    const fields = values === null ? null : okFields(word as 'read', values as never);
    if (fields?.join(' ') !== answer.fields.join(' ')) this.misspelt ??= encodeAnswer(answer).slice(0, -1);
  }

  private noteBlock(line: string): void {
    const parts = partsOfLine(line);
    if (parts?.word !== 'write') return;
    const address = numberOfField(parts.fields[0] ?? '');
    const bytes = bytesOfBase64(parts.fields[1] ?? '');
    if (address !== undefined && bytes) this.onBlock({ address, count: bytes.length });
  }

  private noteLateness(request: string, afterMs: number): void {
    const ms = afterMs - adapterMs;
    if (ms > this.silenceMs && ms > (this.latest?.ms ?? 0)) this.latest = { ms, request };
  }
}
