// The rate of the line: changing it on both ends, trying it, and finding each other again when it does not work.
import { pause } from '../ground/clock.js';
import { ToolError } from '../ground/errors.js';
import { greetingBaud, protocolTimes } from '../protocol/limits.js';
import type { Request } from '../protocol/message.js';
import { refusalNumber } from '../protocol/refusals.js';
import { type Conversation, LossyRate, NoAnswer } from './conversation.js';
import { ask } from './exchange.js';
import { findWriter } from './greeting.js';

/** Which rate worked on this port last time; kept by the caller. */
export interface RateMemory {
  recall(): number | null;
  remember(baud: number): void;
}

/** Exact at 16 MHz (ATmega328P data sheet, table of baud rate register settings), fastest first. */
export const preferredRates: readonly number[] = [1_000_000, 500_000, 250_000];

/** After its last bit at the old rate the writer, and after being told the host's adapter, take a moment to switch. */
const switchMs = 5;

/** Echoes of one trial, each as long as the writer takes. */
const trialEchoes = 4;

/** Bytes in which every bit pattern of a character and every neighbour of it changes from echo to echo. */
const trialBytes = (count: number, round: number): Uint8Array =>
  Uint8Array.from({ length: count }, (_, i) => [0x00, 0xff, 0x55, 0xaa, i * 37 + round * 101][(i + round) % 5]! & 0xff);

/** True when a short series of echoes comes back right at the first go; the first of them may be said twice. */
async function trialPasses(conversation: Conversation): Promise<boolean> {
  const size = conversation.writer!.echo;
  try {
    for (let round = 0; round < trialEchoes; round++) {
      // An `ok` that passed its check sequence and repeats the number is enough: the bytes stand in the same line.
      // The switch may have left half a character at the writer, which spoils the first line and nothing else.
      const retries = round === 0 ? 1 : 0;
      // A writer that echoes nothing still says who it is.
      const trial: Request = size === 0 ? { word: 'who' } : { word: 'echo', bytes: trialBytes(size, round) };
      await ask(conversation, trial, { retries, impatient: true });
    }
    return true;
  } catch (error) {
    if (error instanceof NoAnswer || error instanceof LossyRate) return false;
    throw error;
  }
}

/** Asks at the rate of now, then at the greeting rate, to which every writer returns in the end. Null: not found. */
export async function findAgain(conversation: Conversation) {
  const { searchEveryMs, giveUpMs } = protocolTimes;
  const atOnce = await findWriter(conversation, { listenMs: 0, limitMs: 3 * searchEveryMs });
  if (atOnce) return atOnce;
  if (conversation.baud !== greetingBaud) await conversation.setPortRate(greetingBaud);
  return findWriter(conversation, { listenMs: 0, limitMs: giveUpMs });
}

/** What may wait in an adapter, and its own lateness. */
export const drainMs = 30;

/** How often a writer that is hard to understand is asked to come back to the greeting rate. */
const callsBack = 6;

/** Calls the writer back at a rate at which it speaks, if badly; there it would stay for 3 s. True when it came. */
async function callBack(conversation: Conversation): Promise<boolean> {
  const { baud } = conversation;
  for (let call = 0; call < callsBack; call++) {
    if (baud !== conversation.baud) await conversation.setPortRate(baud);
    // Behind an empty line, which ends what a search at the other rate was heard as.
    conversation.transmit(conversation.compose({ word: 'rate', baud: greetingBaud }).line, true);
    await pause(conversation.link.clock, drainMs);
    // Whatever became of the answer: is it there?
    await conversation.setPortRate(greetingBaud);
    if (await findWriter(conversation, { listenMs: 0, limitMs: protocolTimes.searchEveryMs })) return true;
  }
  return false;
}

/** Both ends back at the greeting rate, after a rate that did not work; `spoke`: the writer was heard there. */
async function backToGreetingRate(conversation: Conversation, spoke: boolean): Promise<void> {
  if (spoke && (await callBack(conversation))) return;
  await conversation.setPortRate(greetingBaud);
  const found = await findWriter(conversation, {
    listenMs: protocolTimes.searchEveryMs,
    limitMs: protocolTimes.giveUpMs,
  });
  if (!found) throw new NoAnswer();
}

/**
 * Changes both ends to `baud` and tries it. Resolves with true, or with false when the rate does not work: then both ends
 * are at 115200. A rate that the writer refuses changes nothing and resolves with false.
 */
export async function changeRate(conversation: Conversation, baud: number): Promise<boolean> {
  if (baud === conversation.baud) return true;
  try {
    // Asked once: a writer that took it does not understand the repeat.
    await ask(conversation, { word: 'rate', baud }, { retries: 0 });
  } catch (error) {
    if (ToolError.is(error, 'writer.refused') && error.facts.refusal === refusalNumber.badRate) return false;
    if (!(error instanceof NoAnswer)) throw error;
    if (!(await findAgain(conversation))) throw error;
    return false;
  }
  try {
    await conversation.setPortRate(baud);
    await pause(conversation.link.clock, switchMs);
  } catch (error) {
    if (!ToolError.is(error, 'link.rate')) throw error;
    await backToGreetingRate(conversation, false);
    return false;
  }
  const before = conversation.linesHeard;
  if (await trialPasses(conversation)) return true;
  await backToGreetingRate(conversation, conversation.linesHeard > before);
  return false;
}

/**
 * The fastest rate that a short trial proves: the remembered one first, then `preferred` in its order, as far as the writer
 * offers them. Resolves with the rate that now stands; 115200 where none works.
 */
export async function fastestRate(
  conversation: Conversation,
  preferred: readonly number[],
  memory: RateMemory | null,
): Promise<number> {
  const offered = conversation.writer!.rates;
  const known = memory?.recall() ?? null;
  const candidates = [...new Set(known === null ? preferred : [known, ...preferred])].filter((r) =>
    offered.includes(r),
  );
  for (const baud of candidates) {
    if (!(await changeRate(conversation, baud))) continue;
    memory?.remember(baud);
    return baud;
  }
  return conversation.baud;
}

/**
 * From a rate at which lines are lost to the next lower one that works; 115200 in the end. What works is remembered in the place of
 * the one that was left.
 */
export async function lowerRate(conversation: Conversation, memory: RateMemory | null): Promise<void> {
  const lower = conversation.writer!.rates.filter((rate) => rate < conversation.baud).sort((a, b) => b - a);
  for (const baud of lower) {
    if (await changeRate(conversation, baud)) break;
  }
  memory?.remember(conversation.baud);
}
