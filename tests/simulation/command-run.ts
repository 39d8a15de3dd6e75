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
  /** The process was killed: its exit is the one that a shell tells, 137. */
  readonly killed: boolean;
  readonly out: string;
  readonly err: string;
  /** Emulated time from its beginning to its end. */
  readonly ms: number;
  /** The chip's true cells. */
  readonly before: Uint8Array;
  readonly after: Uint8Array;
  /** Wear and protection of the chip, where the bench tells. */
  readonly chipBefore: ReturnType<Bench['ofChip']>;
  readonly chipAfter: ReturnType<Bench['ofChip']>;
  /** What this command added to the keep. */
  readonly kept: readonly KeptRuns[];
  readonly files: ReadonlyMap<string, Uint8Array>;
  /** Lines of the book that can be read, added by this command. */
  readonly bookLines: number;
}

/** The host's side of a run: what outlives a command. */
export interface Host {
  readonly files: MemoryFiles;
  readonly lines: HostLines;
  /** The interrupt of the command that runs now. */
  interrupt: AbortController;
  commands: number;
  /** Files of the keep that are not the tool's. */
  planted: readonly string[];
  /** Ends the command that runs now, as SIGKILL does. */
  kill(): void;
  /** What the person answers who is asked something. */
  answer(): string | null;
}

export const dataFolder = '/data';
/** What a shell tells of a process that SIGKILL ended: 128 and the signal's number. */
export const killedExit = 137;

export function keptIn(files: ReadonlyMap<string, Uint8Array>, planted: readonly string[] = []): KeptRuns[] {
  const text = (bytes: Uint8Array): string => Buffer.from(bytes).toString('utf8');
  return (
    [...files]
      .filter(([path]) => path.startsWith(`${dataFolder}/keep/records/`) && !planted.includes(path))
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

function isEntry(line: string): boolean {
  try {
    return typeof JSON.parse(line).time === 'string';
  } catch {
    return false;
  }
}

const entriesIn = (bytes: Uint8Array | undefined): number =>
  Buffer.from(bytes ?? [])
    .toString('utf8')
    .split('\n')
    .filter(isEntry).length;

/** The files as one process has them: when it is killed nothing that it still does reaches them. */
function filesOf(files: MemoryFiles, isAlive: () => boolean): MemoryFiles {
  const changing = ['replace', 'append', 'makeFolder', 'remove'] as const;
  const own = Object.create(files) as MemoryFiles;
  for (const name of changing)
    Object.assign(own, {
      [name]: (...words: never[]) => (isAlive() ? (files[name] as (...w: never[]) => void)(...words) : undefined),
    });
  return own;
}

/** Real time after which a command counts as one that never ends; nothing in it waits for real time. */
const neverMs = 120_000;

export async function runCommand(bench: Bench, host: Host, step: Step): Promise<CommandEnd | null> {
  const keptBefore = keptIn(host.files.stored, host.planted);
  const last = keptBefore.at(-1);
  if (step.argv.includes('<kept>') && !last) return null;
  const argv = step.argv.map((word) => (word === '<kept>' ? last!.id : word));
  host.interrupt = new AbortController();
  host.commands++;
  const number = host.commands;
  let alive = true;
  const killed = new Promise<number>((end) => {
    host.kill = () => {
      alive = false;
      end(killedExit);
    };
  });
  const base = fakeWorld({
    openSerial: countingLines(bench.open, {
      get count() {
        return host.lines.count;
      },
      set count(lines) {
        host.lines.count = lines;
      },
      sent: () => alive && host.lines.sent(),
    }),
    ask: async () => host.answer(),
    interrupt: host.interrupt.signal,
    wallTime: () => new Date(Date.UTC(2026, 0, 2, 3, number)),
    dataFolder,
  });
  const files = filesOf(host.files, () => alive);
  const world: World = { ...base, files, readInput: async (path) => files.read(path) };
  const before = bench.truth();
  const chipBefore = bench.ofChip();
  const begin = bench.clock.now();
  const book = `${dataFolder}/book.jsonl`;
  const bookBefore = entriesIn(host.files.stored.get(book));
  let watch: NodeJS.Timeout | undefined;
  const never = new Promise<null>((resolve) => {
    watch = setTimeout(() => resolve(null), neverMs);
  });
  const exit = await Promise.race([run(argv, world), never, killed]);
  clearTimeout(watch);
  const known = new Set(keptBefore.map((k) => k.id));
  return {
    step,
    argv,
    exit,
    killed: !alive,
    out: base.out(),
    err: base.err(),
    ms: bench.clock.now() - begin,
    before,
    after: bench.truth(),
    chipBefore,
    chipAfter: bench.ofChip(),
    kept: keptIn(host.files.stored, host.planted).filter((k) => !known.has(k.id)),
    files: new Map(host.files.stored),
    bookLines: entriesIn(host.files.stored.get(book)) - bookBefore,
  };
}
