// The mock writer's window: blocks that wait or are being written, and the memory of those that are done.
import type { Answer } from '../../src/protocol/message.js';
import { refusalNumber } from '../../src/protocol/refusals.js';
import type { BlockRefusal } from './block-writing.js';
import type { WriterRules } from './writer-rules.js';

export interface Block {
  readonly seq: number;
  readonly check: number;
  readonly address: number;
  readonly bytes: Uint8Array;
}

export interface QueueTools {
  readonly rules: WriterRules;
  carryOut(block: Block, done: (refusal: BlockRefusal) => void): void;
  answer(answer: Answer): void;
}

export class BlockQueue {
  private waiting: Block[] = [];
  private running: Block | null = null;
  private done: { readonly block: Block; readonly answer: Answer }[] = [];

  constructor(private readonly tools: QueueTools) {}

  get outstanding(): number {
    return this.waiting.length + (this.running ? 1 : 0);
  }

  /** True when this line is one that was heard before: it is absorbed, or answered from memory. */
  repeats(line: Pick<Block, 'seq' | 'check'>): boolean {
    const { rules, answer } = this.tools;
    const same = (block: Block): boolean =>
      block.seq === line.seq && (block.check === line.check || !rules.memoryLooksAtCheck);
    if (rules.absorbsRepeats && [...this.waiting, ...(this.running ? [this.running] : [])].some(same)) return true;
    const remembered = this.done.findLast(({ block }) => same(block));
    if (remembered) answer(remembered.answer);
    return remembered !== undefined;
  }

  take(block: Block): void {
    this.waiting.push(block);
    if (!this.running) this.next();
  }

  /** `stop`: blocks that have not begun are told as dropped. The one in progress ends and is answered as always. */
  stop(): void {
    const { rules, answer } = this.tools;
    if (!rules.dropsBlocksAtStop) return;
    for (const block of this.waiting.splice(0)) {
      const outcome: Answer = { word: 'no', seq: block.seq, refusal: refusalNumber.stopped, fields: [] };
      this.remember(block, outcome);
      if (rules.saysDropped) answer(outcome);
    }
  }

  forgetDone(): void {
    this.done = [];
  }

  forgetAll(): void {
    this.waiting = [];
    this.running = null;
    this.forgetDone();
  }

  private remember(block: Block, answer: Answer): void {
    const { rules } = this.tools;
    if (!rules.remembers(answer.word === 'no' ? answer.refusal : null)) return;
    this.done.push({ block, answer });
    if (this.done.length > rules.rememberedBlocks) this.done.shift();
  }

  private next(): void {
    const { rules, carryOut, answer } = this.tools;
    const block = (rules.keepsOrder ? this.waiting.shift() : this.waiting.pop()) ?? null;
    this.running = block;
    if (!block) return;
    carryOut(block, (refusal) => {
      const { seq } = block;
      const outcome: Answer = refusal ? { word: 'no', seq, ...refusal } : { word: 'ok', seq, fields: [] };
      this.remember(block, outcome);
      this.running = null;
      answer(outcome);
      if (refusal && !rules.eachBlockOnItsOwn) this.waiting = [];
      this.next();
    });
  }
}
