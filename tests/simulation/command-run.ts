// One command of a simulated run, carried out by the whole tool, with everything that the judge wants to know about it.
import { run } from '../../src/cli/run.js';
import type { World } from '../../src/cli/world.js';
import { fakeWorld } from '../support/fake-world.js';
import type { MemoryFiles } from '../support/memory-files.js';
import { type Bench, countingLines, type HostLines } from './bench.js';
import type { Step } from './scenario.js';

/** What the keep said after a command, read from its files without the tool's own reader. */
export interface KeptRuns {
  readonly id: string;
  readonly runs: readonly { readonly from: number; readonly bytes: Uint8Array }[];
}

export interface CommandEnd {
  readonly step: Step;
  readonly argv: readonly string[];
  /** Null: it never ended. */
  readonly exit: number | null;
  readonly out: string;
  readonly err: string;
  /** Emulated time from its beginning to its end. */
  readonly ms: number;
  /** The chip's true cells. */
  readonly before: Uint8Array;
  readonly after: Uint8Array;
  /** What this command added to the keep. */
  readonly kept: readonly KeptRuns[];
  readonly files: ReadonlyMap<string, Uint8Array>;
  readonly bookLines: number;
}

/** The host's side of a run: what outlives a command. */
export interface Host {
  readonly files: MemoryFiles;
  readonly lines: HostLines;
  /** The interrupt of the command that runs now. */
  interrupt: AbortController;
  commands: number;
}

const dataFolder = '/data';

export function keptIn(files: ReadonlyMap<string, Uint8Array>): KeptRuns[] {
  const text = (bytes: Uint8Array): string => Buffer.from(bytes).toString('utf8');
  return (
    [...files]
      .filter(([path]) => path.startsWith(`${dataFolder}/keep/records/`))
      .map(([, bytes]) => JSON.parse(text(bytes)))
      // A record without bytes only notes a burn that was asked to keep nothing.
      .filter(({ runs }) => runs.length > 0)
      .sort((a, b) => (a.time < b.time ? -1 : 1))
      .map(({ id, digest, runs }) => {
        const object = files.get(`${dataFolder}/keep/objects/${digest}`) ?? new Uint8Array();
        let at = 0;
        return {
          id,
          runs: runs.map(({ from, count }: { from: number; count: number }) => {
            at += count;
            return { from, bytes: object.slice(at - count, at) };
          }),
        };
      })
  );
}

const linesIn = (bytes: Uint8Array | undefined): number =>
  bytes === undefined ? 0 : Buffer.from(bytes).toString('utf8').split('\n').length - 1;

/** Real time after which a command counts as one that never ends; nothing in it waits for real time. */
const neverMs = 120_000;

export async function runCommand(bench: Bench, host: Host, step: Step): Promise<CommandEnd | null> {
  const keptBefore = keptIn(host.files.stored);
  const last = keptBefore.at(-1);
  if (step.argv.includes('<kept>') && !last) return null;
  const argv = step.argv.map((word) => (word === '<kept>' ? last!.id : word));
  host.interrupt = new AbortController();
  host.commands++;
  const number = host.commands;
  const base = fakeWorld({
    openSerial: countingLines(bench.open, host.lines),
    interrupt: host.interrupt.signal,
    wallTime: () => new Date(Date.UTC(2026, 0, 2, 3, number)),
    dataFolder,
  });
  const world: World = { ...base, files: host.files, readInput: async (path) => host.files.read(path) };
  const before = bench.truth();
  const begin = bench.clock.now();
  const book = `${dataFolder}/book.jsonl`;
  const bookBefore = linesIn(host.files.stored.get(book));
  let watch: NodeJS.Timeout | undefined;
  const never = new Promise<null>((resolve) => {
    watch = setTimeout(() => resolve(null), neverMs);
  });
  const exit = await Promise.race([run(argv, world), never]);
  clearTimeout(watch);
  const known = new Set(keptBefore.map((k) => k.id));
  return {
    step,
    argv,
    exit,
    out: base.out(),
    err: base.err(),
    ms: bench.clock.now() - begin,
    before,
    after: bench.truth(),
    kept: keptIn(host.files.stored).filter((k) => !known.has(k.id)),
    files: new Map(host.files.stored),
    bookLines: linesIn(host.files.stored.get(book)) - bookBefore,
  };
}
