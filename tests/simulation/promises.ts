// The promises that hold at the end of every command, whatever went wrong. Judged from the chip's true cells, the wires and
// the keep's files alone, never from what the tool found.
import { formatOfName } from '../../src/image/image-format.js';
import { readImage } from '../../src/image/read-image.js';
import { noCodesUnasked, noWearInVain } from './chip-promises.js';
import { type CommandEnd, killedExit } from './command-run.js';
import { presentedBytes, type View } from './presented.js';
import type { Scenario } from './scenario.js';
import { has, type Trouble, type TroubleKind, troublesAt, type WiringFault } from './trouble.js';

export interface Broken {
  /** The number in the table of promises; 0: a rule of the data sheet, or a fault of ours. */
  readonly promise: number;
  readonly text: string;
}

export interface Judged {
  readonly scenario: Scenario;
  readonly troubles: readonly Trouble[];
  /** How the chip may look through this writer's wires. */
  readonly views: readonly View[];
  readonly end: CommandEnd;
  /** All that passes has passed: only a bad chip and bad wires are left. */
  readonly lifted: boolean;
  /** The step protected the chip, or one before it did, and none took it off. */
  readonly protectedByUs: boolean;
}

/** The longest any command may take: every wait of it has a limit, and so has their number. */
export const boundMs = 60_000;
/** A hundred rules, and each may have to wait for a writer that says nothing. */
const boundOfRulesMs = 3 * boundMs;

const at = (address: number): string => `0x${address.toString(16).toUpperCase().padStart(3, '0')}`;

export interface Wanted {
  readonly bytes: Uint8Array;
  readonly defined: Uint8Array;
}

/** What the cells must hold when the command is done: the image, FF, or what was kept. */
function wantedOf({ scenario, end }: Judged): Wanted {
  const { said, image } = scenario;
  const { step } = end;
  const bytes = new Uint8Array(said.cells).fill(0xff);
  const defined = new Uint8Array(said.cells);
  if (step.command === 'burn' || step.command === 'verify') {
    bytes.set(image.bytes);
    defined.set(image.defined);
  } else if (step.command === 'restore') {
    for (const { from, bytes: run } of restoredRuns(end)) {
      bytes.set(run, from);
      defined.fill(1, from, from + run.length);
    }
  } else if (step.command === 'erase' || step.command === 'blank' || step.command === 'dump') defined.fill(1);
  defined.fill(0, 0, step.from);
  defined.fill(0, step.to + 1);
  return { bytes, defined };
}

/** The record that a restore was asked for. */
function restoredRuns(end: CommandEnd) {
  const id = end.argv[1] ?? '';
  const text = Buffer.from(end.files.get(`/data/keep/records/${id}.json`) ?? new Uint8Array()).toString('utf8');
  const { digest, runs } = JSON.parse(text) as { digest: string; runs: { from: number; count: number }[] };
  const object = end.files.get(`/data/keep/objects/${digest}`) ?? new Uint8Array();
  let place = 0;
  return runs.map(({ from, count }) => {
    place += count;
    return { from, bytes: object.slice(place - count, place) };
  });
}

const writing = ['burn', 'erase', 'restore'];
const claiming = [...writing, 'verify', 'blank'];
const claimed = /^Verified:|^Blank:|^The same|"verified":true|"same":true|"blank":true/m;
const notProven = /Note: crossed (or open )?writer wires |"wiring":false/;

/** Bits of each cell that nobody can tell: they read now so, now so, and so does a line that they are joined or crossed with. */
function unsteadyMask(troubles: readonly Trouble[], cell: number): number {
  const own = troublesAt(troubles, 'chip').reduce(
    (mask, t) => (t.kind === 'unsteady' && t.address === cell ? mask | (1 << t.bit) : mask),
    0,
  );
  return troublesAt(troubles, 'wires').reduce((mask, { fault }) => {
    if (!('lines' in fault) || !fault.lines[0].startsWith('D')) return mask;
    const pair = fault.lines.reduce((bits, line) => bits | (1 << Number(line.slice(1))), 0);
    return mask & pair ? mask | pair : mask;
  }, own);
}

function firstDifference(judged: Judged, view: View, wanted: Wanted): number {
  const { end, troubles } = judged;
  const presented = presentedBytes(view, end.after);
  const unsteady = has(troubles, 'unsteady');
  return presented.findIndex((byte, address) => {
    if (wanted.defined[address] !== 1) return false;
    const mask = view.known & (unsteady ? ~unsteadyMask(troubles, view.cellAt[address]!) : 0xff);
    return (byte & mask) !== (wanted.bytes[address]! & mask);
  });
}

/** A chip that stays busy for ever shows it by D6 alone; where that line is wrong it presents one steady pattern, and that is what it is. */
const looksSteady = (troubles: readonly Trouble[]): boolean =>
  has(troubles, 'never-ready') &&
  troublesAt(troubles, 'wires').some(({ fault }) => ('lines' in fault ? fault.lines : [fault.line]).includes('D6'));

/** Promise 1: nothing is called right that is not, and the wires are never called proven. */
function nothingFalse(judged: Judged, view: View): Broken[] {
  const { end, troubles } = judged;
  const broken: Broken[] = [];
  const say = (text: string): void => void broken.push({ promise: 1, text });
  const { step, exit, out } = end;
  if (looksSteady(troubles)) return [];
  const claims = claimed.test(out);
  const isDone = exit === 0 && claiming.includes(step.command) && !step.dryRun;
  if (isDone && !claims) say(`exit 0 of ${step.command} without saying that it is right`);
  if (claims && exit !== 0 && !end.killed && !/changed-beside/.test(end.err))
    say(`"${claimed.exec(out)?.[0]}" is said, and the exit is ${exit}`);
  if (claims || isDone) {
    const different = firstDifference(judged, view, wantedOf(judged));
    if (different >= 0) say(`called right, but ${at(different)} is not`);
    if (has(troubles, 'absent')) say('called right, and no chip is there');
    if (view.known !== 0xff) say('called right, and a data line is open');
    if (!notProven.test(out)) say('called right without saying that the wiring is not proven');
  }
  if (step.command === 'dump' && (exit === 0 || exit === 1)) broken.push(...dumpIsTrue(judged, view));
  return broken;
}

function dumpIsTrue({ end, troubles }: Judged, view: View): Broken[] {
  if (has(troubles, 'absent', 'never-ready')) return [];
  const { step } = end;
  const name = end.argv[end.argv.indexOf('-o') + 1]!;
  const file = end.files.get(name);
  if (!file) return [{ promise: 1, text: `${name} was not written` }];
  const { image } = readImage(file, { file: name });
  const offset = formatOfName(name) === 'bin' ? step.from : 0;
  const presented = presentedBytes(view, end.after);
  for (let address = step.from; address <= step.to; address++) {
    const mask = view.known & ~unsteadyMask(troubles, view.cellAt[address]!);
    if ((image.bytes[address - offset]! & mask) !== (presented[address]! & mask))
      return [{ promise: 1, text: `the dump is wrong at ${at(address)}` }];
  }
  return [];
}

/** Every address that the output names, as ranges: `0x40`, `0x40..0x7F`, and from and to of JSON. */
function namedRanges(text: string): [number, number][] {
  const plain = [...text.matchAll(/0x([0-9A-Fa-f]+)(?:\.\.0x([0-9A-Fa-f]+))?/g)].map(([, a, b]): [number, number] => [
    Number.parseInt(a!, 16),
    Number.parseInt(b ?? a!, 16),
  ]);
  const json = [...text.matchAll(/"from":(\d+),"to":(\d+)/g)].map(([, a, b]): [number, number] => [
    Number(a),
    Number(b),
  ]);
  return [...plain, ...json];
}

/** An address line inside a page is joined or crossed with one that tells pages apart. */
function joinsRowAndPage(fault: WiringFault, page: number): boolean {
  if (!('lines' in fault) || !fault.lines[0].startsWith('A')) return false;
  const inside = fault.lines.map((line) => 2 ** Number(line.slice(1)) < page);
  return inside[0] !== inside[1];
}

/** The chip's cells whose bytes of before this command put in the keep. */
function keptCellsOf({ end, troubles }: Judged, view: View, before: Uint8Array): Set<number> {
  const kept = new Set<number>();
  for (const { runs } of end.kept)
    for (const { from, bytes } of runs)
      bytes.forEach((byte, i) => {
        const cell = view.cellAt[from + i];
        if (cell === undefined) return;
        const mask = view.known & ~unsteadyMask(troubles, cell);
        if ((byte & mask) === (before[from + i]! & mask)) kept.add(cell);
      });
  return kept;
}

/** Promises 2 and 5: only what was asked changed, and what was there before is kept. */
function nothingLost(judged: Judged, view: View): Broken[] {
  const { scenario, end, troubles } = judged;
  const { step } = end;
  const broken: Broken[] = [];
  const before = presentedBytes(view, end.before);
  const after = presentedBytes(view, end.after);
  const wanted = wantedOf(judged);
  const writes = writing.includes(step.command) && !step.dryRun;
  const asked = (address: number): boolean => writes && wanted.defined[address] === 1;
  const { killed } = end;
  const askedCells = new Set<number>();
  const askedPages = new Set<number>();
  const page = Math.max(scenario.said.pageBytes.value, scenario.seated.pageBytes.value);
  if (writes)
    view.cellAt.forEach((cell, address) => {
      if (!asked(address)) return;
      askedCells.add(cell);
      askedPages.add(Math.floor(cell / page));
    });
  const named = namedRanges(end.out + end.err);
  // Who was killed names nothing.
  const isNamed = (address: number): boolean => killed || named.some(([from, to]) => from <= address && address <= to);
  const keptCells = keptCellsOf(judged, view, before);
  const codes = step.command === 'protect' || step.command === 'unprotect' || end.argv.includes('--protected');
  // It writes everywhere to put everything back; where it cannot it counts the cells and says the first and the last.
  const notPutBack =
    ['rig', 'conform'].includes(step.command) &&
    (killed ||
      (end.exit !== 0 &&
        /job\.(not-put-back|rig-broken-off)|could not be put back|"cellsPutBack":false/.test(end.err + end.out)));
  const odd = has(troubles, 'miswired', 'smaller') || scenario.said !== scenario.seated;
  const spills = troublesAt(troubles, 'wires').some(({ fault }) => joinsRowAndPage(fault, page));
  const tires = has(troubles, 'worn', 'weak');
  // Behind such wires a page of the chip holds cells of pages that nobody asked for: a failing supply tears them too, and nobody could keep them.
  const tearsOthers = spills && has(troubles, 'browns-out');
  const isVerdict = end.exit === 0 || end.exit === 1 || end.exit === 4;
  const once = new Set<string>();
  const say = (promise: number, what: string, address: number): void => {
    if (once.has(what)) return;
    once.add(what);
    broken.push({ promise, text: `${what}, first at ${at(address)}` });
  };
  after.forEach((byte, address) => {
    const cell = view.cellAt[address]!;
    if (((byte ^ before[address]!) & ~unsteadyMask(troubles, cell)) === 0) return;
    if (!step.discards && !keptCells.has(cell) && !(tearsOthers && !askedCells.has(cell)))
      say(5, 'what was overwritten is not in the keep', address);
    if (asked(address) || notPutBack) return;
    const torn = has(troubles, 'browns-out') && askedPages.has(Math.floor(cell / page));
    if (askedCells.has(cell)) {
      // With an address line wrong as well, which cells repeat is a riddle of its own; a chip that stays busy cannot be asked.
      const isPlain = has(troubles, 'smaller') && !has(troubles, 'miswired', 'never-ready', 'unsteady');
      if (isPlain && isVerdict && !isNamed(address))
        say(2, 'a cell changed with another one and is not named', address);
    } else if (torn || (codes && odd)) {
      // A long list of cells that took codes is cut; how many there are is said.
      if (!isNamed(address) && !/job\.codes-stored/.test(end.err))
        say(2, `a cell that ${torn ? 'a power failure tore' : 'took codes as data'} is not named`, address);
    } else if (tires && askedPages.has(Math.floor(cell / page))) {
      // Cells between asked ones are loaded again with what they hold, and a cell at its end may not take even that.
      if (!isNamed(address)) say(2, 'a cell that was worn by its neighbours is not named', address);
    } else if (spills && (killed || end.exit === 4)) {
      // Loads of one page fall into several pages of the chip, which takes only one: told as not verified, and named.
      const isPlain = !has(troubles, 'smaller', 'never-ready');
      if (isPlain && !isNamed(address)) say(2, 'a cell that a page spilled into is not named', address);
    } else say(2, 'a cell changed that nobody asked to change', address);
  });
  return broken;
}

const lineKinds: readonly TroubleKind[] = [
  ...(['lost', 'flipped', 'doubled', 'late', 'noise', 'unplugged', 'repeated', 'resets', 'hangs', 'slow'] as const),
  ...(['browns-out', 'older', 'lacks'] as const),
];

const entered = ['burn', 'erase', 'restore', 'verify', 'dump', 'rig', 'conform'];

/** Whoever wrote a chip or told something about it left one line in the book. */
function inTheBook({ end, troubles }: Judged): Broken[] {
  const { step, exit, bookLines } = end;
  const changed = end.after.some((byte, i) => byte !== end.before[i]);
  const must = entered.includes(step.command) && !step.dryRun && !end.killed && (exit === 0 || exit === 1 || changed);
  if (has(troubles, 'disk-full', 'unsteady') || bookLines === (must ? 1 : Math.min(bookLines, 1))) return [];
  return [{ promise: 0, text: `${bookLines} lines were added to the book` }];
}

/** Promise 3: it ended, in time, with the number that fits. */
function endsRightly(judged: Judged): Broken[] {
  const { end, troubles, lifted } = judged;
  const { exit, step, ms, err } = end;
  if (exit === null) return [{ promise: 3, text: 'it never ended' }];
  const broken: Broken[] = [];
  const say = (text: string): void => void broken.push({ promise: 3, text });
  if (ms > (step.command === 'conform' ? boundOfRulesMs : boundMs)) say(`it took ${Math.round(ms / 1000)} s`);
  const passing = !lifted;
  const bad = troubles.some((t) => t.at === 'chip' || t.at === 'wires');
  const odd = judged.scenario.said !== judged.scenario.seated;
  const fits: Record<number, boolean> = {
    0: true,
    1:
      ['verify', 'blank', 'dump'].includes(step.command) ||
      (step.command === 'rig' && bad) ||
      // Whatever goes wrong on the line looks like a writer that breaks a rule.
      (step.command === 'conform' && (bad || odd || judged.protectedByUs || (passing && troubles.length > 0))),
    2: passing && has(troubles, 'disk-full') && step.command !== 'blank',
    3: passing && has(troubles, ...lineKinds),
    4:
      bad ||
      judged.protectedByUs ||
      (passing && has(troubles, 'browns-out', 'lacks')) ||
      // A check of wires says nothing of them when the writer restarted in its middle.
      (passing && /job\.restarted-in-check/.test(err) && has(troubles, ...lineKinds)),
    130: passing && has(troubles, 'interrupted', 'unanswered'),
    [killedExit]: passing && end.killed,
  };
  if (!fits[exit])
    say(
      `exit ${exit} does not fit: ${
        err
          .trim()
          .split('\n')
          .find((l) => l.startsWith('romkiln:')) ?? err.trim().slice(-300)
      }`,
    );
  if ([2, 3, 4].includes(exit) && !/\[[a-z]+\.[a-z-]+\]/.test(err)) say(`exit ${exit} without a reason`);
  broken.push(...inTheBook(judged));
  if (step.json && !end.killed) {
    try {
      JSON.parse(end.out);
    } catch {
      say(`--json, and standard output is no JSON: ${end.out.slice(0, 80)}`);
    }
  }
  return broken;
}

/** A difference that is told is one: the other half of nothing false. */
function noFalseAlarm(judged: Judged, view: View): Broken[] {
  const { end, troubles } = judged;
  const { step, exit } = end;
  if (exit !== 1 || step.command === 'rig' || step.command === 'conform') return [];
  if (step.command === 'dump')
    return has(troubles, 'unsteady', 'never-ready', 'absent') || view.known !== 0xff
      ? []
      : [{ promise: 3, text: 'steady cells are called unsteady' }];
  if (has(troubles, 'unsteady', 'never-ready') || view.known !== 0xff) return [];
  return firstDifference(judged, view, wantedOf(judged)) >= 0
    ? []
    : [{ promise: 3, text: 'called different, and it is not' }];
}

/** Promise 4: with the mishaps lifted the same command succeeds, or says why the chip cannot. */
function succeedsNow(judged: Judged): Broken[] {
  const { end, troubles, lifted } = judged;
  if (!lifted || end.exit === 0) return [];
  const bad = troubles.some((t) => t.at === 'chip' || t.at === 'wires');
  if (end.exit === 1 && ['verify', 'blank', 'dump'].includes(end.step.command)) return [];
  if (end.exit === 4 && bad) return [];
  if (end.exit === 1 && bad && end.step.command === 'rig') return [];
  const odd = judged.scenario.said !== judged.scenario.seated || judged.protectedByUs;
  if (end.exit === 1 && (bad || odd) && end.step.command === 'conform') return [];
  if (end.exit === 4 && judged.protectedByUs && /unprotect/.test(end.err)) return [];
  return [{ promise: 4, text: `with nothing in its way it ends with ${end.exit}: ${end.err.trim().slice(-300)}` }];
}

/** All promises that this end of a command breaks. */
export function brokenPromises(judged: Judged): Broken[] {
  const fixed = [...endsRightly(judged), ...succeedsNow(judged), ...noCodesUnasked(judged)];
  if (judged.end.exit === null) return fixed;
  fixed.push(...noWearInVain(judged, wantedOf(judged)));
  const perView = judged.views.map((view) => [
    ...nothingFalse(judged, view),
    ...noFalseAlarm(judged, view),
    ...nothingLost(judged, view),
  ]);
  // Where the level of an open line is anybody's guess, the one that speaks for the tool counts.
  const kindest = perView.reduce((best, found) => (found.length < best.length ? found : best));
  return [...fixed, ...kindest];
}
