// Going on with a job when the writer restarted or was silent for a while.
import { ToolError } from '../ground/errors.js';
import { protocolTimes } from '../protocol/limits.js';
import { type Conversation, LossyRate, NoAnswer, Restarted } from './conversation.js';
import { ask } from './exchange.js';
import { findWriter } from './greeting.js';
import { changeRate, drainMs, findAgain, lowerRate, type RateMemory } from './line-rate.js';

/** What happened that the user did not ask for. */
export type WriterEvent =
  /** The writer restarted; the chip is chosen again and the job goes on. */
  | { readonly kind: 'restarted'; readonly restarts: number }
  /** The writer did not answer, and was found again. */
  | { readonly kind: 'found-again'; readonly request: string }
  /** The line runs at another rate than was asked for. */
  | { readonly kind: 'rate-fell-back'; readonly baud: number }
  /** Too many lines were lost at `from`: the job goes on at the lower rate. */
  | { readonly kind: 'rate-left'; readonly from: number; readonly baud: number };

/** What is needed to bring the chip back. */
export interface ChipAgain {
  /** Chooses the chip that was chosen before, if any. */
  choose(): Promise<void>;
  /** Milliseconds that a block in progress may keep the writer from answering. */
  blockMs(): number;
}

/** Restarts that one opened writer is forgiven. */
const restartsMost = 3;

export class Steadiness {
  /** Where the rate that works is remembered; null: nowhere. */
  memory: RateMemory | null = null;

  constructor(
    private readonly conversation: Conversation,
    private readonly tell: (event: WriterEvent) => void,
    private readonly chip: ChipAgain,
  ) {}

  /**
   * Does work, and does it again after a restart of the writer or a silence out of which it came back. Silence counts
   * anew where `progress` has grown.
   */
  async do<T>(word: string, work: () => Promise<T>, progress: () => number = () => 0): Promise<T> {
    let seen = progress();
    let silences = 0;
    for (;;) {
      try {
        return await work();
      } catch (error) {
        if (error instanceof LossyRate) {
          await this.#stepDown(word);
          continue;
        }
        if (!(error instanceof Restarted || error instanceof NoAnswer)) throw error;
        if (progress() > seen) silences = 0;
        seen = progress();
        if (error instanceof NoAnswer && ++silences > 1) throw this.#lost(word);
        await this.#comeBack(word, error instanceof Restarted);
      }
    }
  }

  /** Finds the writer again and brings it to where it was: rate, chip. */
  async #comeBack(word: string, restarted: boolean): Promise<void> {
    const { conversation } = this;
    const { baud } = conversation;
    let { nonce } = conversation.writer!;
    let forgotten = false;
    for (let attempt = 0; attempt < restartsMost; attempt++) {
      const found = await findAgain(conversation);
      if (!found) break;
      const isNew = restarted || found.writer.nonce !== nonce;
      nonce = found.writer.nonce;
      forgotten ||= isNew;
      if (isNew) this.#countRestart();
      else this.tell({ kind: 'found-again', request: word });
      try {
        // What it still has in hand came from before: it would answer to numbers that nobody waits for.
        if (!isNew) await ask(conversation, { word: 'stop' }, { chipMs: this.chip.blockMs() });
        if (forgotten) await changeRate(conversation, baud);
        if (baud !== conversation.baud) this.tell({ kind: 'rate-fell-back', baud: conversation.baud });
        if (forgotten) await this.chip.choose();
        return;
      } catch (error) {
        if (!(error instanceof Restarted || error instanceof NoAnswer)) throw error;
        restarted = error instanceof Restarted;
      }
    }
    throw this.#lost(word);
  }

  /** What was going on is ended at the rate of now as far as that succeeds, then the rate is left. */
  async #stepDown(word: string): Promise<void> {
    const { conversation } = this;
    const from = conversation.baud;
    conversation.mayStepDown = false;
    try {
      await this.do(word, async () => {
        // What waits in a full buffer is lost together with the answer: the writer is looked for when that has passed.
        conversation.transmit(conversation.compose({ word: 'stop' }).line, true);
        await findWriter(conversation, { listenMs: drainMs, limitMs: protocolTimes.giveUpMs });
        await ask(conversation, { word: 'stop' }, { chipMs: this.chip.blockMs() });
        await lowerRate(conversation, this.memory);
      });
    } finally {
      conversation.mayStepDown = true;
    }
    this.tell({ kind: 'rate-left', from, baud: conversation.baud });
  }

  #countRestart(): void {
    const { counts, link } = this.conversation;
    counts.restarts++;
    if (counts.restarts > restartsMost)
      throw new ToolError('writer.restarted-too-often', { path: link.path, restarts: counts.restarts });
    this.tell({ kind: 'restarted', restarts: counts.restarts });
  }

  #lost(request: string): ToolError {
    return new ToolError('writer.lost', { path: this.conversation.link.path, request });
  }
}
