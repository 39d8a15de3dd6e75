// The program in the mock writer: lines in, chip moved, lines out, by the demands of firmware-protocol.md.
import type { Random } from '../../src/ground/random.js';
import { encodeAnswer, okFields } from '../../src/protocol/codec.js';
import { fieldOfNumber } from '../../src/protocol/field-kind.js';
import { greetingBaud, protocolTimes, type WriterLimits } from '../../src/protocol/limits.js';
import type { Answer, ChipChoice, Request } from '../../src/protocol/message.js';
import { refusalNumber } from '../../src/protocol/refusals.js';
import type { RequestWord } from '../../src/protocol/request-words.js';
import { BlockQueue } from './block-queue.js';
import { type BlockTools, writeBlock, writeCycle } from './block-writing.js';
import type { ChipBus } from './chip-bus.js';
import { protectCodes, unprotectCodes } from './mock-chip.js';
import { decodeRequest } from './request-reading.js';
import { Stream } from './stream.js';
import type { VirtualClock } from './virtual-clock.js';
import type { WriterRules } from './writer-rules.js';

export interface FirmwareTools {
  readonly clock: VirtualClock;
  readonly bus: ChipBus;
  readonly limits: WriterLimits;
  readonly rules: WriterRules;
  readonly random: Random;
  /** Address registers that the chain return shows. */
  readonly registers: number;
  /** Requests that this writer does not know though it should. */
  readonly lacks: readonly RequestWord[];
  /** The nonce of the first start; drawn when undefined. */
  readonly firstNonce: number | undefined;
  transmit(text: string): void;
  /** Called before a line is acted on; false where a mishap swallowed it. */
  heard(line: string): boolean;
  cycleBegins(): void;
}

type Hold = Extract<Request, { word: 'hold' }>;

/** Level bits of `hold`: 1 is high, which is inactive. */
const control = { ce: 1, oe: 2, we: 4 } as const;

const ok = (seq: number, ...fields: string[]): Answer => ({ word: 'ok', seq, fields });
const no = (seq: number, refusal: number, ...fields: string[]): Answer => ({ word: 'no', seq, refusal, fields });

export class MockFirmware {
  baud = greetingBaud;
  choice: ChipChoice | null = null;
  hold: Hold | null = null;
  nonce = 0;
  /** The next answer comes this much later; a mishap sets it. */
  slowMs = 0;
  private silent = true;
  private line = '';
  private overlong = false;
  private start = 0;
  private lastGoodMs = 0;
  private saidByMs = 0;
  private readonly blocks: BlockQueue;
  private readonly stream: Stream;

  constructor(private readonly tools: FirmwareTools) {
    const answer = (line: Answer): void => this.answer(line);
    this.blocks = new BlockQueue({
      rules: tools.rules,
      answer,
      carryOut: (block, done) => writeBlock(this.blockTools(), block.address, block.bytes, done),
    });
    this.stream = new Stream({
      rules: tools.rules,
      read: (address) => tools.bus.read(address),
      // The next line is begun when this one has left.
      send: (line, then) => {
        this.answer(line);
        this.later((encodeAnswer(line).length * 10_000) / this.baud, then);
      },
    });
  }

  /** A restart: everything but the chip is forgotten. Then a quiet time, then the greeting. */
  reset(): void {
    this.begin();
    this.silent = true;
    this.later(protocolTimes.quietAfterResetMs, () => {
      this.silent = false;
      this.lastGoodMs = this.tools.clock.now();
      if (this.tools.rules.greets) this.answer(this.writerLine(this.tools.rules.greetingSeq));
    });
  }

  /** A start that lies long back: the writer listens, and has greeted already. */
  begin(): void {
    this.start++;
    this.silent = false;
    this.line = '';
    this.overlong = false;
    this.baud = greetingBaud;
    this.choice = null;
    this.hold = null;
    this.slowMs = 0;
    this.saidByMs = 0;
    this.blocks.forgetAll();
    this.stream.forget();
    this.drawNonce();
  }

  /** Does and says nothing more until the next reset. */
  hang(): void {
    this.start++;
    this.silent = true;
  }

  receive(bytes: Uint8Array): void {
    for (const byte of bytes) {
      if (this.silent) return;
      if (byte === 10) this.lineEnds();
      else if (this.line.length + 1 < this.tools.rules.longestLine(this.tools.limits.line)) {
        this.line += String.fromCharCode(byte);
      } else this.overlong = true;
    }
  }

  private drawNonce(): void {
    const last = this.nonce;
    if (this.start === 1 && this.tools.firstNonce !== undefined) this.nonce = this.tools.firstNonce;
    else while (this.nonce === last) this.nonce = this.tools.random.below(0x10000);
  }

  /** Calls back unless the writer restarts or hangs before. */
  private later(ms: number, callback: () => void): void {
    const { start } = this;
    this.tools.clock.within(ms, () => {
      if (start === this.start) callback();
    });
  }

  private lineEnds(): void {
    const { line, overlong } = this;
    const { rules } = this.tools;
    this.line = '';
    this.overlong = false;
    if (overlong) {
      for (let i = 0; i < rules.refusalsOfLongLine; i++) this.answer(no(0, rules.refusalOfLongLine));
    } else if (line !== '' || rules.answersEmptyLine) {
      if (this.tools.heard(line)) this.obey(line);
    }
  }

  /** Acts on one line. */
  obey(line: string): void {
    const { rules, limits } = this.tools;
    const decoded = decodeRequest(rules.hear(line), { ...limits, line: rules.longestLine(limits.line) });
    if (decoded.good || decoded.seq !== 0) {
      this.lastGoodMs = this.tools.clock.now();
      // Whatever is asked, and be it refused, ends a hold.
      this.hold = null;
    }
    if (!decoded.good) {
      this.answer(no(decoded.seq, decoded.refusal, ...decoded.fields));
      return;
    }
    const { seq, request, check } = decoded.message;
    const answer = this.gate(seq, request.word) ?? this.carryOut(seq, request, check);
    if (answer !== 'later') this.answer(answer);
  }

  /** What stands in the way of a request now, or null. */
  private gate(seq: number, word: RequestWord): Answer | null {
    const { rules, lacks } = this.tools;
    if (lacks.includes(word)) return no(seq, refusalNumber.unknownWord);
    if (this.stream.running && rules.refusesWhileStreaming && word !== 'stop') return no(seq, refusalNumber.busy);
    const meanwhile = word === 'write' || word === 'stop' || (word === 'who' && rules.identifiesWhileBlocksWait);
    if (this.blocks.outstanding > 0 && rules.refusesWhileBlocksWait && !meanwhile) return no(seq, refusalNumber.busy);
    const touchesChip = ['presence', 'read', 'sum', 'write', 'protect', 'unprotect'].includes(word);
    return touchesChip && !this.choice && rules.needsChip ? no(seq, refusalNumber.noChip) : null;
  }

  /** Does what is asked. The answer, or `later` where it comes by itself. */
  private carryOut(seq: number, request: Request, check: number): Answer | 'later' {
    const { rules, bus, registers } = this.tools;
    if (rules.clearsMemory(request.word)) this.blocks.forgetDone();
    switch (request.word) {
      case 'who':
        return this.writerLine(seq);
      case 'echo':
        return ok(seq, ...okFields('echo', { bytes: request.bytes }));
      case 'rate':
        return this.changeRate(seq, request.baud);
      case 'chip': {
        const { word: _, ...choice } = request;
        this.choice = choice;
        return ok(seq);
      }
      case 'registers':
        return ok(seq, ...okFields('registers', { count: registers }));
      case 'hold':
        return this.holdLines(seq, request);
      case 'stop':
        return this.stop(seq);
      case 'protect':
      case 'unprotect':
        return this.sendCodes(seq, request.word);
      case 'presence': {
        if (this.leaves(request.address, 1)) return no(seq, refusalNumber.outOfRange);
        const mask = bus.followers(request.address);
        const empty = mask === 0xff && rules.seesEmptySocket;
        return empty ? no(seq, refusalNumber.notDriven, 'FF') : ok(seq, ...okFields('presence', { mask }));
      }
      case 'read':
        if (this.leaves(request.address, request.count)) return no(seq, refusalNumber.outOfRange);
        this.stream.read(seq, request.address, request.count);
        return 'later';
      case 'sum': {
        const crooked = [request.address, request.count].findIndex((value) => value % request.page !== 0);
        if (crooked >= 0 && rules.refusesCrookedSums)
          return no(seq, refusalNumber.badField, fieldOfNumber(crooked + 1));
        if (this.leaves(request.address, request.count)) return no(seq, refusalNumber.outOfRange);
        this.stream.sum(seq, request.address, request.count, request.page);
        return 'later';
      }
      case 'write':
        return this.takeBlock(seq, request.address, request.bytes, check);
    }
  }

  private stop(seq: number): Answer {
    if (!this.stream.running) this.blocks.stop();
    else if (this.tools.rules.stopsStream) this.stream.forget();
    return ok(seq);
  }

  private takeBlock(seq: number, address: number, bytes: Uint8Array, check: number): Answer | 'later' {
    const { rules, limits } = this.tools;
    if (this.blocks.repeats({ seq, check })) return 'later';
    const page = this.choice?.page ?? 1;
    if (this.leaves(address, bytes.length)) return no(seq, refusalNumber.outOfRange);
    const most = page === 1 ? limits.cells : page - (address % page);
    if (rules.refusesBadBlocks && bytes.length > most) return no(seq, refusalNumber.badBlock);
    if (this.blocks.outstanding >= rules.window(limits, page)) return no(seq, refusalNumber.windowFull);
    this.blocks.take({ seq, check, address, bytes });
    return 'later';
  }

  private sendCodes(seq: number, word: 'protect' | 'unprotect'): Answer | 'later' {
    const tools = this.blockTools();
    const refuses = tools.choice.protection === 'none' && tools.rules.refusesCodesWithoutProtection;
    if (refuses) return no(seq, refusalNumber.noProtection);
    if (!tools.rules.sendsCodes) return ok(seq);
    const mask = tools.choice.cells - 1;
    const codes = word === 'protect' ? protectCodes : unprotectCodes;
    const loads = codes.map(({ address, byte }) => ({ address: address & mask, byte }));
    const last = fieldOfNumber(loads.at(-1)!.address);
    writeCycle(tools, loads, (ended) => this.answer(ended ? ok(seq) : no(seq, refusalNumber.neverReady, last)));
    return 'later';
  }

  private holdLines(seq: number, request: Hold): Answer {
    const { bus, rules } = this.tools;
    const low = (line: keyof typeof control): boolean => (request.control & control[line]) === 0;
    const driven = typeof request.data === 'number';
    const unsafe = (low('we') && low('ce')) || (driven && low('oe'));
    if (unsafe && rules.refusesUnsafeHold) return no(seq, refusalNumber.unsafeHold);
    this.hold = request;
    if (typeof request.data === 'number' && rules.drivesHeldData) bus.drive(request.data);
    const outputsOn = low('ce') && low('oe') && !low('we');
    const pulled = request.data === 'pulled' && rules.pullsHeldData;
    return ok(seq, ...okFields('hold', { bus: outputsOn ? bus.read(request.address) : bus.floating(pulled) }));
  }

  private changeRate(seq: number, baud: number): Answer {
    const { rules, limits, clock } = this.tools;
    if (!rules.takesRate(baud, limits.rates)) return no(seq, refusalNumber.badRate);
    const answer = ok(seq);
    // The answer leaves at the old rate.
    const leavingMs = (encodeAnswer(answer).length * 10_000) / this.baud + rules.answerDelayMs;
    this.later(leavingMs, () => {
      if (rules.changesRate) this.baud = baud;
      this.lastGoodMs = clock.now();
      const changedMs = clock.now();
      this.later(rules.rateTrialMs, () => {
        if (this.baud === baud && this.lastGoodMs === changedMs) this.baud = greetingBaud;
      });
      this.watchIdle(baud);
    });
    return answer;
  }

  /** Goes back to the greeting rate when no good line came for a while and there is no work. */
  private watchIdle(baud: number): void {
    const { clock, rules } = this.tools;
    if (baud === greetingBaud) return;
    const sinceMs = this.lastGoodMs;
    this.later(Math.max(1, sinceMs + rules.idleRateMs - clock.now()), () => {
      if (this.baud !== baud) return;
      const held = rules.holdIsWork && this.hold !== null;
      const working = this.stream.running || this.blocks.outstanding > 0 || held;
      if (this.lastGoodMs === sinceMs && !working) this.baud = greetingBaud;
      else this.watchIdle(baud);
    });
  }

  private blockTools(): BlockTools {
    const { bus, rules, cycleBegins } = this.tools;
    return { bus, rules, cycleBegins, choice: this.choice!, later: (ms, callback) => this.later(ms, callback) };
  }

  private leaves(address: number, count: number): boolean {
    return this.tools.rules.refusesBeyondChip && address + count > (this.choice?.cells ?? Infinity);
  }

  private writerLine(seq: number): Answer {
    if (!this.tools.rules.steadyNonce) this.drawNonce();
    return { word: 'writer', seq, ...this.tools.limits, nonce: this.nonce };
  }

  private answer(answer: Answer): void {
    const line = this.tools.rules.say(encodeAnswer(answer).slice(0, -1));
    if (line === null) return;
    // Answers leave in the order in which they were made, however slow one is.
    const nowMs = this.tools.clock.now();
    this.saidByMs = Math.max(this.saidByMs, nowMs + this.tools.rules.answerDelayMs + this.slowMs);
    this.slowMs = 0;
    this.later(this.saidByMs - nowMs, () => this.tools.transmit(`${line}\n`));
  }
}
