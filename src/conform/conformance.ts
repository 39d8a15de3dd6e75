// The conformance suite: every rule of firmware-protocol.md that a host can see kept or broken, run against any link.
import type { Part } from '../chip/part.js';
import { ToolError } from '../ground/errors.js';
import type { Link } from '../link/link.js';
import { decodeAnswer } from '../protocol/codec.js';
import { fieldOfNumber } from '../protocol/field-kind.js';
import { greetingBaud, protocolTimes } from '../protocol/limits.js';
import { composeLine } from '../protocol/line.js';
import type { Answer, WriterLine } from '../protocol/message.js';
import { Conversation, mend } from './conversation.js';
import { holdRules } from './hold-rules.js';
import { lineRules } from './line-rules.js';
import { protectionRules } from './protection-rules.js';
import { rateRules } from './rate-rules.js';
import { readRules } from './read-rules.js';
import { type ConformanceRule, type Needs, RuleContext } from './rule.js';
import { keepCells, type ScratchCells } from './scratch-cells.js';
import { endRules, startRules } from './start-rules.js';
import { windowRules } from './window-rules.js';
import { wordRules } from './word-rules.js';
import { writeRules } from './write-rules.js';

/** All rules, in the order in which they are tried. */
export const conformanceRules: readonly ConformanceRule[] = [
  ...startRules,
  ...lineRules,
  ...wordRules,
  ...readRules,
  ...holdRules,
  ...rateRules,
  ...writeRules,
  ...windowRules,
  // Last: a writer that gets these wrong may leave the chip protected.
  ...protectionRules,
  ...endRules,
];

export interface ConformanceResult {
  readonly rule: string;
  /** Section of firmware-protocol.md. */
  readonly section: string;
  readonly outcome: 'kept' | 'broken' | 'untried';
  /** Of a broken rule: what the page demands, and what came. */
  readonly wanted: string | null;
  readonly seen: string | null;
  /** Of an untried rule: what was missing. */
  readonly reason: string | null;
}

export interface ConformanceReport {
  readonly writer: WriterLine;
  readonly results: readonly ConformanceResult[];
  /** No rule is broken. */
  readonly conforms: boolean;
  /** The cells that rules wrote hold their old bytes again; null when none was written. */
  readonly cellsPutBack: boolean | null;
}

export interface ConformanceOptions {
  /** The part in the socket; without it only what needs no chip is tried. */
  readonly chip?: Part;
  /** Cells of that chip may be written; they are put back. */
  readonly scratch: boolean;
}

/**
 * Tries every rule on a link that was just opened at the greeting rate. Never rejects for a broken rule; rejects with
 * conform.no-writer when nobody answers, and with the link's own error when the port is lost.
 */
export async function runConformance(
  link: Link,
  options: ConformanceOptions,
  onResult: (result: ConformanceResult, index: number, count: number) => void = () => {},
): Promise<ConformanceReport> {
  const talk = new Conversation(link);
  const { writer, greeting } = await meet(talk);
  talk.silenceMs = writer.silenceMs;
  const scratch = options.scratch && options.chip !== undefined;
  const context = new RuleContext(talk, writer, greeting, options.chip ?? null, scratch);
  const run: Run = { context, cells: null, answering: true };
  const results: ConformanceResult[] = [];
  for (const rule of conformanceRules) {
    const result = await tryRule(run, rule);
    results.push(result);
    onResult(result, results.length - 1, conformanceRules.length);
  }
  return {
    writer,
    results,
    conforms: results.every((result) => result.outcome !== 'broken'),
    cellsPutBack: run.cells && typeof run.cells !== 'string' ? await putBack(run, run.cells) : null,
  };
}

interface Run {
  readonly context: RuleContext;
  /** The cells as they were before the first rule that writes, or why none may. */
  cells: ScratchCells | string | null;
  answering: boolean;
}

/** The greeting if one comes, then whoever answers `identify` (firmware-protocol.md section 2). */
async function meet(talk: Conversation): Promise<{ writer: WriterLine; greeting: WriterAnswer | null }> {
  let heard = 0;
  /** What comes before the first good `writer` line is noise. */
  const hearWriter = async (withinMs: number): Promise<WriterAnswer | null> => {
    for (;;) {
      const line = await talk.hear(withinMs);
      if (line === null) return null;
      heard++;
      const decoded = decodeAnswer(mend(line));
      if (decoded.good && decoded.message.word === 'writer') return decoded.message;
    }
  };
  const startMs = talk.link.clock.now();
  let greeting = await hearWriter(protocolTimes.greetingWaitMs);
  while (talk.link.clock.now() - startMs < protocolTimes.giveUpMs) {
    await talk.tell(`\n${composeLine(talk.seq(), 'identify', [])}`);
    const writer = await hearWriter(protocolTimes.identifyEveryMs);
    if (!writer) continue;
    if (writer.seq === 0) greeting = writer;
    await talk.drain(writer.silenceMs);
    return { writer, greeting };
  }
  throw new ToolError('conform.no-writer', { path: talk.link.path, heard });
}

type WriterAnswer = Answer & { readonly word: 'writer' };

/** A broken rule is a value here; everything else goes on. */
const ignoreBroken = (error: unknown): null => {
  if (ToolError.is(error, 'conform.broken')) return null;
  throw error;
};

async function tryRule(run: Run, rule: ConformanceRule): Promise<ConformanceResult> {
  const { name, section, needs } = rule;
  const result = { rule: name, section, wanted: null, seen: null, reason: null };
  const reason = run.answering ? await missing(run, needs) : 'the writer no longer answers';
  if (reason !== null) return { ...result, outcome: 'untried', reason };
  try {
    // The start rules look at a writer that was told of no chip.
    if (!startRules.includes(rule)) await run.context.choose();
    await rule.run(run.context);
    return { ...result, outcome: 'kept' };
  } catch (error) {
    if (!ToolError.is(error, 'conform.broken')) throw error;
    run.answering = await findFeet(run.context);
    return { ...result, outcome: 'broken', ...error.facts };
  }
}

/** Why a rule cannot be tried, or null. */
async function missing(run: Run, needs: Needs | null): Promise<string | null> {
  const { part, greeting, scratch } = run.context;
  if (needs === null) return null;
  if (needs === 'fresh start') return greeting ? null : 'no greeting: opening the port did not restart the writer';
  if (!part) return 'they need a part that is named (--chip)';
  if (needs === 'chip') return null;
  if (!scratch) return 'they need a chip that may be overwritten (--scratch)';
  run.cells ??= await keepCells(run.context).catch(async (error) => {
    if (!ToolError.is(error, 'conform.broken')) throw error;
    run.answering = await findFeet(run.context);
    return `the chip does not take a block: wanted ${error.facts.wanted}; seen ${error.facts.seen}`;
  });
  if (typeof run.cells === 'string') return run.cells;
  const fits: Record<typeof needs, boolean> = {
    scratch: true,
    'cell by cell': part.pageBytes.value === 1,
    protection: part.protection.value,
    'toggle bit': part.polling.value === 'toggle',
  };
  return fits[needs] ? null : `they need another kind of part than ${part.name}`;
}

/** After a broken rule: ends whatever runs and finds the writer again, at whatever rate. False when it is gone. */
async function findFeet({ talk, writer }: RuleContext): Promise<boolean> {
  for (const baud of [greetingBaud, ...writer.rates, greetingBaud, ...writer.rates]) {
    await talk.setRate(baud);
    await talk.tell('\n');
    await talk.ask('stop').catch(ignoreBroken);
    await talk.drain(writer.silenceMs);
    const answer = await talk.identify().catch(ignoreBroken);
    if (answer && baud === greetingBaud) return true;
    if (answer) await talk.ask('rate', [fieldOfNumber(greetingBaud)]).catch(ignoreBroken);
  }
  return false;
}

async function putBack(run: Run, cells: ScratchCells): Promise<boolean> {
  if (!run.answering) return false;
  try {
    return await cells.putBack();
  } catch (error) {
    ignoreBroken(error);
    return false;
  }
}
