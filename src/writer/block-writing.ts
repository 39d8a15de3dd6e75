// Blocks through the window: lines encoded ahead, sent as long as there is room, each outcome told as it comes.
import { numberOfField } from '../protocol/field-kind.js';
import { windowOf } from '../protocol/limits.js';
import type { Answer, ChipChoice } from '../protocol/message.js';
import { refusalNumber } from '../protocol/refusals.js';
import { BlockWindow } from './block-window.js';
import { blockLimitMs } from './chip-choice.js';
import { type Conversation, type Hearer, LossyRate, NoAnswer } from './conversation.js';
import { asksFor, defaultRetries } from './exchange.js';
import { stillThere } from './greeting.js';
import { refusalFault } from './refusal-fault.js';

/** What one write line carries: bytes that lie in one page, or up to the writer's `cells` where there is no page mode. */
export interface WriteBlock {
  readonly address: number;
  readonly bytes: Uint8Array;
}

export type BlockOutcome =
  /** Written, read back by the writer and equal. */
  | { readonly kind: 'written' }
  /** After its write cycle this cell read something else. */
  | { readonly kind: 'mismatch'; readonly address: number; readonly wanted: number; readonly actual: number }
  /** The write cycle did not end within its limit; what is stored is not known. */
  | { readonly kind: 'never-ready'; readonly address: number }
  /** Not begun, or its outcome was not heard before the job stopped. */
  | { readonly kind: 'stopped' };

export interface WriteOptions {
  /** Called once a block, in the order of the outcomes. */
  readonly onDone?: ((index: number, outcome: BlockOutcome) => void) | undefined;
  /** Most blocks outstanding; the writer's own limit where it is smaller or nothing is said. */
  readonly window?: number | undefined;
  /** Aborting finishes the block in progress and drops the rest, which end as `stopped`. */
  readonly signal?: AbortSignal | undefined;
}

/** Throws where a block could not be carried out: a broken promise of the caller, found before anything is sent. */
function checkBlocks(blocks: readonly WriteBlock[], choice: ChipChoice, cellsMost: number): void {
  for (const { address, bytes } of blocks) {
    const most = choice.page === 1 ? cellsMost : choice.page - (address % choice.page);
    if (bytes.length < 1 || bytes.length > most || address + bytes.length > choice.cells)
      throw new Error(`broken promise: a block of ${bytes.length} bytes at ${address} does not fit page or chip`);
  }
}

/** The writing of one list of blocks. It outlives a restart of the writer: `run` again goes on where it was. */
export class BlockWriting {
  readonly outcomes: (BlockOutcome | null)[];
  readonly #window: BlockWindow;
  readonly #lines = new Map<number, { readonly seq: number; readonly line: string }>();
  readonly #blockOfSeq = new Map<number, number>();
  /** The next new block, encoded before there is room for it. */
  #ahead: { readonly index: number; readonly seq: number; readonly line: string } | null = null;

  constructor(
    private readonly conversation: Conversation,
    private readonly blocks: readonly WriteBlock[],
    private readonly choice: ChipChoice,
    private readonly options: WriteOptions & { readonly signal: AbortSignal },
  ) {
    const writer = conversation.writer!;
    checkBlocks(blocks, choice, writer.cells);
    this.outcomes = blocks.map(() => null);
    this.#window = new BlockWindow(blocks.length, Math.min(options.window ?? Infinity, windowOf(writer, choice.page)));
  }

  get answeredCount(): number {
    return this.#window.answeredCount;
  }

  /** No new block is sent; what is outstanding is waited for. */
  stop(): void {
    this.#window.stop();
  }

  /** Resolves when every block has its outcome. Rejects with Restarted, NoAnswer or a ToolError; then it can be run again. */
  async run(): Promise<void> {
    this.#forget();
    this.#window.restart();
    if (this.options.signal.aborted) this.stop();
    await this.#converse();
    for (const index of this.blocks.keys()) if (this.outcomes[index] === null) this.#tell(index, { kind: 'stopped' });
  }

  #converse(): Promise<void> {
    const { conversation, options } = this;
    const { clock } = conversation.link;
    return new Promise((resolve, reject) => {
      let cancel = (): void => {};
      let settled = false;
      let searching = false;
      let heardBefore = 0;
      let stop: { seq: number; sends: number; done: boolean } | null = null;

      const finish = (settle: () => void): void => {
        if (settled) return;
        settled = true;
        cancel();
        options.signal.removeEventListener('abort', interrupt);
        conversation.hear(null);
        this.#release();
        settle();
      };
      const fail = (error: Error): void => finish(() => reject(error));
      const goOn = (): void => {
        if (settled) return;
        for (let index = this.#window.take(); index !== null; index = this.#window.take()) this.#send(index);
        if (this.#window.finished && (stop === null || stop.done)) finish(resolve);
        else {
          cancel();
          heardBefore = conversation.linesHeard;
          cancel = clock.after(this.#limitMs(), deadline);
          this.#encodeAhead();
        }
      };
      const deadline = (): void => {
        const sends = stop?.sends ?? this.#window.mostSends;
        if (stop?.done) finish(resolve);
        else if (sends > defaultRetries) fail(new NoAnswer());
        else if (conversation.linesHeard === heardBefore) search();
        else sayAgain();
      };
      const sayAgain = (): void => {
        if (stop) sendStop();
        else if (options.signal.aborted) interrupt();
        else this.#window.deadline();
        goOn();
      };
      /** Nothing at all arrived: before anything else is said, somebody must answer the search line. */
      const search = (): void => {
        conversation.hear(null);
        searching = true;
        stillThere(conversation, asksFor(defaultRetries)).then((there) => {
          searching = false;
          if (!there) fail(new NoAnswer());
          else {
            conversation.hear(hearer);
            if (!settled) sayAgain();
          }
        }, fail);
      };
      const sendStop = (): void => {
        const { seq, line } = conversation.compose({ word: 'stop' });
        stop = { seq, sends: (stop?.sends ?? 0) + 1, done: false };
        conversation.transmit(line, stop.sends > 1);
      };
      const interrupt = (): void => {
        if (stop || settled || searching) return;
        this.stop();
        sendStop();
        goOn();
      };

      options.signal.addEventListener('abort', interrupt);
      const hearer: Hearer = {
        answer: (answer) => {
          if (stop && answer.seq === stop.seq) {
            stop.done = true;
            goOn();
            return;
          }
          const index = this.#blockOfSeq.get(answer.seq);
          if (index === undefined) return;
          const error = this.#answered(index, answer);
          if (error) fail(error);
          // What was dropped was told before the `ok` of `stop`; only the block that was in progress may answer behind it.
          else if (stop?.done) finish(resolve);
          else if (this.#mustStop(index)) interrupt();
          else goOn();
        },
        lineRefused: () => {
          if (conversation.isLossy && !stop) {
            fail(new LossyRate());
            return;
          }
          if (stop?.sends === 1 && !stop.done) sendStop();
          this.#window.lineRefused();
          goOn();
        },
        garbled: () => conversation.isLossy && !stop && fail(new LossyRate()),
        failed: fail,
      };
      conversation.hear(hearer);
      goOn();
    });
  }

  /** A chip that does not end its write cycle is not written further. */
  #mustStop(index: number): boolean {
    return this.outcomes[index]?.kind === 'never-ready';
  }

  /** Takes in one answer; returns the error that ends the job, or null. */
  #answered(index: number, answer: Answer): Error | null {
    if (answer.word === 'ok') this.#tell(index, { kind: 'written' });
    else if (answer.word === 'no') {
      const block = this.blocks[index]!;
      const fault = (): Error => refusalFault(this.conversation, 'write', answer, block.address);
      const [address = block.address, wanted, actual] = answer.fields.map((field) => numberOfField(field));
      switch (answer.refusal) {
        case refusalNumber.mismatch:
          if (wanted === undefined || actual === undefined) return fault();
          this.#tell(index, { kind: 'mismatch', address, wanted, actual });
          break;
        case refusalNumber.neverReady:
          this.#tell(index, { kind: 'never-ready', address });
          break;
        case refusalNumber.stopped:
          this.#tell(index, { kind: 'stopped' });
          break;
        case refusalNumber.windowFull:
        case refusalNumber.busy:
          this.#window.notTaken(index);
          return null;
        default:
          return fault();
      }
    } else return null;
    const { seq } = this.#lines.get(index)!;
    this.#lines.delete(index);
    this.#blockOfSeq.delete(seq);
    this.conversation.reserved.delete(seq);
    this.#window.answered(index);
    return null;
  }

  #tell(index: number, outcome: BlockOutcome): void {
    this.outcomes[index] = outcome;
    this.options.onDone?.(index, outcome);
  }

  #send(index: number): void {
    const known = this.#lines.get(index);
    // The very same line again: the writer knows it and writes nothing twice.
    const { seq, line } = known ?? this.#encoded(index);
    if (!known) {
      this.#lines.set(index, { seq, line });
      this.#blockOfSeq.set(seq, index);
      this.conversation.reserved.add(seq);
    }
    this.conversation.transmit(line, known !== undefined);
  }

  #encoded(index: number): { readonly seq: number; readonly line: string } {
    const ahead = this.#ahead;
    if (ahead?.index === index) {
      this.#ahead = null;
      return ahead;
    }
    const { address, bytes } = this.blocks[index]!;
    return this.conversation.compose({ word: 'write', address, bytes });
  }

  #encodeAhead(): void {
    const index = this.#window.upcoming;
    if (index === null || this.#ahead?.index === index) return;
    this.#ahead = { index, ...this.#encoded(index) };
    this.conversation.reserved.add(this.#ahead.seq);
  }

  /** Until the next answer: the oldest block's own work, and everything outstanding still on its way. */
  #limitMs(): number {
    const outstanding = this.#window.outstanding;
    const characters = outstanding.reduce((sum, index) => sum + this.#lines.get(index)!.line.length, 0);
    const chipMs = Math.max(0, ...outstanding.map((i) => blockLimitMs(this.choice, this.blocks[i]!.bytes.length)));
    return this.conversation.waitMs(characters + answerCharacters) + chipMs;
  }

  #release(): void {
    for (const { seq } of this.#lines.values()) this.conversation.reserved.delete(seq);
    if (this.#ahead) this.conversation.reserved.delete(this.#ahead.seq);
  }

  #forget(): void {
    this.#release();
    this.#lines.clear();
    this.#blockOfSeq.clear();
    this.#ahead = null;
  }
}

/** The longest answer to `write`: a mismatch. */
const answerCharacters = 32;
