// The conformance suite: every rule of firmware-protocol.md that a host can see kept or broken, run against any link.
import type { Part } from '../chip/part.js';
import { ToolError } from '../ground/errors.js';
import type { Link } from '../link/link.js';
import { fieldOfNumber } from '../protocol/field-kind.js';
import { greetingBaud } from '../protocol/limits.js';
import type { WriterLine } from '../protocol/message.js';
import { Conversation, type ToldBlock } from './conversation.js';
import { holdRules } from './hold-rules.js';
import { lineRules } from './line-rules.js';
import { meetWriter } from './meeting.js';
import { protectionRules } from './protection-rules.js';
import { rateRules } from './rate-rules.js';
import { readRules } from './read-rules.js';
import { type ConformanceRule, type Needs, RuleContext } from './rule.js';
import { putBack, tryBlock } from './scratch-cells.js';
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
  /** The cells hold their old bytes again; null when none might be written. */
  readonly cellsPutBack: boolean | null;
  /** Cells that do not read as before; null when none might be written, or when nobody could look any more. */
  readonly changedCells: number | null;
  /** It was ended before all rules were tried. */
  readonly interrupted: boolean;
}

export interface ConformanceOptions {
  /** The part in the socket; without it only what needs no chip is tried. */
  readonly chip?: Part;
  /** What every cell of that chip holds, kept by the caller: they may be written, and are put back. Without it none is. */
  readonly scratch?: Uint8Array | null;
  /** Ends the run between two rules; the cells are put back all the same. */
  readonly signal?: AbortSignal;
  /** Each block that is sent: it may cost its cells a write cycle, whatever comes of it. */
  readonly onBlock?: (block: ToldBlock) => void;
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
  const talk = new Conversation(link, options.onBlock);
  const { writer, greeting } = await meetWriter(talk, options.signal);
  talk.silenceMs = writer.silenceMs;
  const scratch = options.chip === undefined ? null : (options.scratch ?? null);
  const context = new RuleContext(talk, writer, greeting, options.chip ?? null, scratch !== null);
  const run: Run = { context, scratch, takesBlocks: null, answering: true };
  const results: ConformanceResult[] = [];
  for (const rule of conformanceRules) {
    if (options.signal?.aborted) break;
    const result = await tryRule(run, rule);
    results.push(result);
    onResult(result, results.length - 1, conformanceRules.length);
  }
  const changedCells = scratch && (await cellsChanged(run, scratch));
  return {
    writer,
    results,
    conforms: results.every((result) => result.outcome !== 'broken'),
    cellsPutBack: scratch && changedCells === 0,
    changedCells,
    interrupted: results.length < conformanceRules.length,
  };
}

interface Run {
  readonly context: RuleContext;
  readonly scratch: Uint8Array | null;
  /** The chip takes a block, or why it does not; null before that was tried. */
  takesBlocks: true | string | null;
  answering: boolean;
}

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

async function takesBlocks(run: Run, before: Uint8Array): Promise<true | string> {
  try {
    await tryBlock(run.context, before);
    return true;
  } catch (error) {
    if (!ToolError.is(error, 'conform.broken')) throw error;
    run.answering = await findFeet(run.context);
    return `the chip does not take a block: wanted ${error.facts.wanted}; seen ${error.facts.seen}`;
  }
}

/** Why a rule cannot be tried, or null. */
async function missing(run: Run, needs: Needs | null): Promise<string | null> {
  const { part, greeting } = run.context;
  if (needs === null) return null;
  if (needs === 'fresh start') return greeting ? null : 'no greeting: opening the port did not restart the writer';
  if (!part) return 'they need a part that is named (--chip)';
  if (needs === 'chip') return null;
  if (!run.scratch) return 'they need a chip that may be overwritten (--scratch)';
  run.takesBlocks ??= await takesBlocks(run, run.scratch);
  if (run.takesBlocks !== true) return run.takesBlocks;
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

/** Puts back what differs; the number of cells that still do, or null where nobody can look. */
async function cellsChanged(run: Run, before: Uint8Array): Promise<number | null> {
  if (!run.answering) return null;
  try {
    return await putBack(run.context, before, run.takesBlocks === true);
  } catch (error) {
    return ignoreBroken(error);
  }
}
