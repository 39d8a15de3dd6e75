// What the fuzz needs of a reader, and the loop that feeds it: an input is good, or refused with an error of ours; nothing else.
import { ToolError, ToolErrors } from '../../src/ground/errors.js';
import { type Random, seededRandom } from '../../src/ground/random.js';
import { mutated } from './mutation.js';

export interface Reader {
  readonly name: string;
  /** It reads whole files, which may be large. */
  readonly ofFiles?: boolean;
  /** What a large file of its kind is made of, and what ends it; else the first good input, over and over. */
  readonly large?: { readonly unit: Uint8Array; readonly end: Uint8Array };
  /** Good inputs to begin with. */
  readonly corpus: readonly Uint8Array[];
  /** Words of its language. */
  readonly words: readonly string[];
  /** Reads, and does with what it read what the tool would do. May throw ToolError and ToolErrors; returns what it found, for guidance. */
  read(input: Uint8Array): string | Promise<string>;
}

export interface Find {
  readonly reader: string;
  readonly what: string;
  /** Base64 of the input. */
  readonly input: string;
}

export interface FuzzCount {
  readonly reader: string;
  inputs: number;
  good: number;
  refused: number;
  /** Different ways in which inputs were good or refused. */
  ways: number;
  slowestMs: number;
  readonly finds: Find[];
}

/** Far longer than the slowest good input takes; a machine that is busy gets a second try. */
const hangMs = 2000;
/** An input that behaves in a new way is a good one to begin from. */
const corpusMost = 400;

/** A refusal by its kind: code and sentence without names and numbers. Null where it is none of ours. */
function kindOf(error: unknown): string | null {
  const first = error instanceof ToolErrors ? error.errors[0] : error;
  if (!(first instanceof ToolError)) return null;
  const sentence = first.message.replace(/^[^ ]*:\d+:\d+/, '').replace(/"[^"]*"|\d+|\b[0-9A-Fa-f]{2,}\b/g, '#');
  return `${first.code} ${sentence.slice(0, 60)}`;
}

interface Outcome {
  readonly way: string;
  readonly good: boolean;
  readonly fault: string | null;
  readonly ms: number;
}

async function outcomeOf(reader: Reader, input: Uint8Array): Promise<Outcome> {
  // The processor's own time: a busy machine may let a process wait for seconds.
  const begin = process.cpuUsage();
  const since = (): number => {
    const { user, system } = process.cpuUsage(begin);
    return (user + system) / 1000;
  };
  try {
    const way = await reader.read(input);
    return { way: `good ${way}`, good: true, fault: null, ms: since() };
  } catch (error) {
    const kind = kindOf(error);
    if (kind !== null) return { way: kind, good: false, fault: null, ms: since() };
    const stack = error instanceof Error ? (error.stack ?? '').split('\n').slice(0, 3).join(' ') : String(error);
    return { way: 'fault', good: false, fault: stack, ms: since() };
  }
}

/** Cuts an input down while it fails in the same way. */
async function cutDown(reader: Reader, input: Uint8Array, fault: string): Promise<Uint8Array> {
  const sameFault = async (some: Uint8Array): Promise<boolean> =>
    (await outcomeOf(reader, some)).fault?.split(' at ')[0] === fault.split(' at ')[0];
  let rest = input;
  for (let size = Math.ceil(rest.length / 2); size >= 1; size = size === 1 ? 0 : Math.ceil(size / 2))
    for (let from = 0; from < rest.length; ) {
      const fewer = new Uint8Array(Buffer.concat([rest.subarray(0, from), rest.subarray(from + size)]));
      if (await sameFault(fewer)) rest = fewer;
      else from += size;
    }
  return rest;
}

/** Feeds one reader `count` inputs drawn from a seed. */
export async function fuzzReader(
  reader: Reader,
  count: number,
  seed: number,
  told: () => void = () => {},
): Promise<FuzzCount> {
  const random: Random = seededRandom(seed);
  const corpus = [...reader.corpus];
  const ways = new Set<string>();
  const result: FuzzCount = { reader: reader.name, inputs: 0, good: 0, refused: 0, ways: 0, slowestMs: 0, finds: [] };
  const find = (what: string, input: Uint8Array): void => {
    if (result.finds.length < 20 && !result.finds.some((f) => f.what.slice(0, 80) === what.slice(0, 80)))
      result.finds.push({ reader: reader.name, what, input: Buffer.from(input).toString('base64') });
  };
  for (let i = 0; i < count; i++) {
    const input = i < reader.corpus.length ? reader.corpus[i]! : mutated(random, corpus, reader.words);
    let outcome = await outcomeOf(reader, input);
    if (outcome.ms > hangMs) outcome = await outcomeOf(reader, input);
    result.inputs++;
    result.slowestMs = Math.max(result.slowestMs, outcome.ms);
    if (outcome.ms > hangMs) find(`it took ${Math.round(outcome.ms)} ms`, input);
    if (outcome.fault !== null) find(outcome.fault, await cutDown(reader, input, outcome.fault));
    else if (outcome.good) result.good++;
    else result.refused++;
    if (!ways.has(outcome.way)) {
      ways.add(outcome.way);
      if (corpus.length < corpusMost) corpus.push(input);
    }
    if (result.inputs % 100 === 0) told();
  }
  result.ways = ways.size;
  return result;
}
