// The run of one seed from its beginning to the end: its commands, the judge after each, and the last word with all mishaps lifted.
import { type MemoryFiles, memoryFiles } from '../support/memory-files.js';
import type { Bench } from './bench.js';
import { type CommandEnd, dataFolder, type Host, runCommand } from './command-run.js';
import { plantDamage } from './damage.js';
import { mockBench } from './mock-bench.js';
import { viewsOf } from './presented.js';
import { type Broken, brokenPromises } from './promises.js';
import { drawScenario, mockSizes, type Scenario, type Sizes, type Step } from './scenario.js';
import { toldByBook } from './told-by-book.js';
import { has, type RunSize, type Trouble, troublesAt } from './trouble.js';
import { drawTroubles } from './trouble-drawing.js';

/** Makes the bench that a scenario plays on. */
export type MakeBench = (scenario: Scenario, troubles: readonly Trouble[]) => Bench;

export interface Ended {
  readonly end: CommandEnd;
  readonly lifted: boolean;
  readonly broken: readonly Broken[];
}

export interface SeedRun {
  readonly scenario: Scenario;
  readonly troubles: readonly Trouble[];
  readonly ends: readonly Ended[];
  readonly broken: readonly Broken[];
}

/** What stands between host and disk: for canaries, which break it. */
export type Disk = (files: MemoryFiles) => MemoryFiles;

const bookStep: Step = {
  command: 'book',
  argv: ['book', '--json'],
  from: 0,
  to: 0,
  json: true,
  dryRun: false,
  discards: false,
};

function newHost(scenario: Scenario, troubles: readonly Trouble[], disk: Disk): Host {
  const ofHost = troublesAt(troubles, 'host');
  const host: Host = {
    files: disk(memoryFiles({ [scenario.file.name]: scenario.file.bytes })),
    interrupt: new AbortController(),
    commands: 0,
    planted: [],
    kill: () => {},
    answer() {
      const how = ofHost.find((t) => t.kind === 'unanswered')?.how;
      if (how === 'interrupt') host.interrupt.abort();
      return how === undefined ? 'yes' : null;
    },
    lines: {
      count: 0,
      sent() {
        const now = ofHost.filter((t) => 'line' in t && t.line === host.lines.count).map((t) => t.kind);
        if (now.includes('interrupted')) host.interrupt.abort();
        if (now.includes('disk-full')) host.files.failing = 'the disk is full';
        if (now.includes('killed')) host.kill();
        return !now.includes('killed');
      },
    },
  };
  for (const t of ofHost)
    if (t.kind === 'damaged-records') host.planted = plantDamage(host.files.stored, dataFolder, t.how);
  return host;
}

/** Who protected the chip last, as far as the commands tell. */
const protects = (before: boolean, { step, argv, exit, err, killed }: CommandEnd): boolean => {
  // It tries the codes, and what it left may have been cut off.
  if (step.command === 'conform' && exit !== 0) return true;
  if (step.command === 'rig' && (killed || /may be write-protected now/.test(err))) return true;
  if (step.command === 'protect' || argv.includes('--protected')) return true;
  return step.command === 'unprotect' && exit === 0 ? false : before;
};

/** Plays a scenario with these troubles. */
export async function play(
  scenario: Scenario,
  troubles: readonly Trouble[],
  makeBench: MakeBench,
  disk: Disk = (files) => files,
): Promise<SeedRun> {
  const bench = makeBench(scenario, troubles);
  const host = newHost(scenario, troubles, disk);
  const ends: Ended[] = [];
  let protectedByUs = false;
  const wiring = troublesAt(troubles, 'wires').map((t) => t.fault);
  const views = viewsOf(scenario.said.cells, bench.truth().length, wiring);
  const judge = (end: CommandEnd, lifted: boolean): void => {
    protectedByUs = protects(protectedByUs, end);
    const broken = brokenPromises({ scenario, troubles, views, end, lifted, protectedByUs });
    ends.push({ end, lifted, broken });
  };
  for (const step of scenario.steps) {
    await bench.replug();
    const end = await runCommand(bench, host, step);
    if (end) judge(end, false);
    if (end?.killed) {
      const book = await runCommand(bench, host, bookStep);
      if (book) ends.push({ end: book, lifted: true, broken: toldByBook(end, book) });
    }
    if (end?.exit === null) break;
  }
  const failed = ends.filter(({ end }) => end.exit !== 0).map(({ end }) => end.step);
  const last = ends.findLast(({ end }) => end.step !== bookStep)?.end;
  if (last?.exit !== null) {
    await bench.lift();
    host.lines.sent = () => true;
    host.answer = () => 'yes';
    host.files.failing = null;
    for (const step of new Set([...failed, ...(last ? [last.step] : [])])) {
      await bench.replug();
      const end = await runCommand(bench, host, step);
      if (end) judge(end, true);
      if (end?.exit === null) break;
    }
  }
  // A reset may end a pulse in its middle, wrong wires turn loads into others, and a slow chip is written while it is busy.
  const excused = has(troubles, 'miswired', 'resets', 'browns-out', 'never-ready', 'slow');
  const rules = excused ? [] : [...new Set(bench.violations())];
  const broken = [
    ...ends.flatMap((e) => e.broken),
    ...rules.map((rule) => ({ promise: 0, text: `the firmware broke a rule of the data sheet: ${rule}` })),
  ];
  return { scenario, troubles, ends, broken };
}

/** About how much happens in a run in which nothing goes wrong: on the mock, which says the same lines as the firmware. */
export async function sizeOf(scenario: Scenario): Promise<RunSize> {
  const bench = mockBench(scenario, []);
  const host = newHost(scenario, [], (files) => files);
  for (const step of scenario.steps) await runCommand(bench, host, step);
  return bench.size();
}

/** The run of a seed; with `only`, just the troubles with these numbers, for shrinking and replaying. */
export async function runSeed(
  seed: number,
  makeBench: MakeBench = mockBench,
  sizes: Sizes = mockSizes,
  only: readonly number[] | null = null,
): Promise<SeedRun> {
  const scenario = drawScenario(seed, sizes);
  const drawn = drawTroubles(scenario, await sizeOf(scenario));
  return play(scenario, only ? drawn.filter((_, i) => only.includes(i)) : drawn, makeBench);
}
