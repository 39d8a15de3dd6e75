// What a plan module gives, as plain data that can leave its process: strange objects refused, functions replaced by what they gave.
import { types } from 'node:util';
import { printable } from '../ground/byte-text.js';
import type { Path, ReadFile } from './table.js';

/** What one call of a plan's function came to. */
type CallOutcome = { readonly gave: unknown } | { readonly threw: string } | { readonly promised: true };

interface RecordedFunction {
  readonly path: Path;
  /** In the order in which compiling the plan calls it. */
  readonly calls: readonly CallOutcome[];
}

/** Plain data: a structured clone of it is equal to it. */
export interface RecordedPlan {
  readonly value: unknown;
  readonly functions: readonly RecordedFunction[];
}

/** Why a value cannot be part of a plan; its message says what and where. */
class StrangeValue extends Error {}

const depthMost = 50;
const valuesMost = 2_000_000;

const wordsOf = (error: unknown): string => {
  try {
    return printable(String(error instanceof Error ? error.message : error).slice(0, 200));
  } catch {
    return 'something that cannot be shown';
  }
};

const strange = (what: string, path: Path): StrangeValue =>
  new StrangeValue(`${path.length === 0 ? 'its default export' : printable(path.join('.'))} is ${what}`);

/** Copies plain data; `onFunction` says what stands for a function. Throws StrangeValue. */
function plainCopy(
  value: unknown,
  onFunction: (call: (...words: unknown[]) => unknown, path: Path) => unknown,
): unknown {
  let left = valuesMost;
  const copy = (found: unknown, path: Path): unknown => {
    if (left-- === 0) throw strange('more than any plan holds', path);
    if (typeof found === 'function')
      return types.isProxy(found) ? fail('a proxy', path) : onFunction(found as never, path);
    if (typeof found === 'symbol') return fail('a symbol', path);
    if (typeof found !== 'object' || found === null) return found;
    if (path.length > depthMost) return fail('nested too deep, or holds itself', path);
    if (types.isProxy(found)) return fail('a proxy', path);
    if (types.isPromise(found)) return fail('a promise', path);
    if (Array.isArray(found)) return Array.from(found, (_, k) => copy(read(found, k, path), [...path, k]));
    const parent: unknown = Object.getPrototypeOf(found);
    // Where a module loader gives each module a world of its own its plain objects have another parent.
    if (parent !== null && Object.getPrototypeOf(parent) !== null)
      return fail('an object of a class; a plan holds plain maps and lists', path);
    return Object.fromEntries(Object.keys(found).map((key) => [key, copy(read(found, key, path), [...path, key])]));
  };
  const fail = (what: string, path: Path): never => {
    throw strange(what, path);
  };
  const read = (from: object, key: string | number, path: Path): unknown => {
    try {
      return (from as Record<string | number, unknown>)[key];
    } catch (error) {
      throw strange(`read by a getter that throws "${wordsOf(error)}"`, [...path, key]);
    }
  };
  return copy(value, []);
}

const refuseFunction = (_: unknown, path: Path): never => {
  throw strange('a function', path);
};

function outcomeOf(call: () => unknown): CallOutcome {
  try {
    const given = call();
    if (!types.isProxy(given) && types.isPromise(given)) return { promised: true };
    return { gave: plainCopy(given, refuseFunction) };
  } catch (error) {
    return { threw: wordsOf(error) };
  }
}

function playOut(outcome: CallOutcome): unknown {
  if ('threw' in outcome) throw new StrangeValue(outcome.threw);
  return 'promised' in outcome ? Promise.resolve() : outcome.gave;
}

/**
 * Takes the value in the module's own process. A function is called there as often as compiling the plan calls it, and what
 * it gave is written down; `readFile` reads the files that the plan names. Throws StrangeValue.
 */
export async function recordPlan(value: unknown, readFile: ReadFile | null): Promise<RecordedPlan> {
  const functions: { path: Path; calls: CallOutcome[] }[] = [];
  const recording = plainCopy(value, (call, path) => {
    const calls: CallOutcome[] = [];
    functions.push({ path, calls });
    return (...words: unknown[]) => {
      const outcome = outcomeOf(() => call(...words));
      calls.push(outcome);
      return playOut(outcome);
    };
  });
  if (functions.length > 0) (await import('./plan-compiling.js')).compilePlan(recording, readFile);
  return { value: plainCopy(recording, () => null), functions };
}

/** The value again, for the reader of plans: its functions give what they gave, in the same order, and then from the first on. */
export function replayPlan({ value, functions }: RecordedPlan): unknown {
  for (const { path, calls } of functions) {
    let next = 0;
    const replay = (): unknown => (calls.length === 0 ? undefined : playOut(calls[next++ % calls.length]!));
    if (path.length === 0) return replay;
    const holder = path.slice(0, -1).reduce<unknown>((at, key) => (at as Record<string | number, unknown>)[key], value);
    (holder as Record<string | number, unknown>)[path.at(-1)!] = replay;
  }
  return value;
}
