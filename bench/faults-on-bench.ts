// npm run bench faults-on-bench: wiring faults set on emulated benches, named from a readback, from answers at the display, and by the rig.
// Every fault is made by the emulator and judged by the suspects, which share nothing but the words for faults.
import { readFileSync } from 'node:fs';
import { findPart } from '../src/chip/chip-table.js';
import { linesOf, spellWiringFault, type WiringFault } from '../src/chip/wiring-fault.js';
import { openBenchLink } from '../src/emulator/bench-link.js';
import { newBenchState } from '../src/emulator/bench-state.js';
import { EmulatedBench } from '../src/emulator/emulated-bench.js';
import { seededRandom } from '../src/ground/random.js';
import type { Image } from '../src/image/image.js';
import { trySeatedChip } from '../src/job/rig.js';
import { tryScratchChip } from '../src/job/scratch-chip.js';
import { buildPlan, readPlan, romOf } from '../src/plan/plan.js';
import { firmwareLimits, greetingBaud } from '../src/protocol/limits.js';
import { answer, nextQuestion, startSession, verdict } from '../src/suspect/bench-session.js';
import {
  addressBusTest,
  dataBusTest,
  drivenBytes,
  pageWitnessBytes,
  protectionCodes,
} from '../src/suspect/bus-tests.js';
import type { Sight } from '../src/suspect/circuit.js';
import { explainReadback } from '../src/suspect/explain-readback.js';
import { faultsAmong, judgeRig } from '../src/suspect/judge-rig.js';
import { circuitOfPlan } from '../src/suspect/plan-circuit.js';
import { typed } from '../src/suspect/seen.js';
import { singleFaults } from '../src/suspect/wiring.js';
import { chipChoice } from '../src/writer/chip-choice.js';
import { openWriter, type Writer } from '../src/writer/writer.js';

const top = new URL('../', import.meta.url);
const firmware = readFileSync(new URL('firmware/romkiln-writer.hex', top), 'latin1');

async function onFaultyBench<Result>(
  chip: string,
  contents: Uint8Array,
  faults: readonly string[],
  seed: number,
  work: (writer: Writer, bench: EmulatedBench) => Promise<Result>,
): Promise<Result> {
  const part = findPart(chip);
  const state = newBenchState({ part, contents, faults, seed, cycleUs: 200 });
  const bench = new EmulatedBench({ state, firmware });
  const writer = await openWriter(await openBenchLink(bench, { baud: greetingBaud, lineMax: firmwareLimits.line }));
  try {
    await writer.setRate(1_000_000);
    await writer.chip(chipChoice(part));
    return await work(writer, bench);
  } finally {
    await writer.close();
  }
}

const open = (lines: number): WiringFault[] => [
  ...Array.from({ length: lines }, (_, i): WiringFault => ({ kind: 'open', line: `A${i}` })),
  ...Array.from({ length: 8 }, (_, i): WiringFault => ({ kind: 'open', line: `D${i}` })),
];

/** Same faults, in any order; an open line that shows one level reads as one stuck there, which is said beside it. */
const same = (named: readonly WiringFault[], set: readonly WiringFault[]): boolean => {
  const spell = (f: WiringFault): string =>
    f.kind === 'stuck'
      ? `${f.line} stuck or open`
      : f.kind === 'open'
        ? `${f.line} stuck or open`
        : spellWiringFault(f);
  return named.map(spell).sort().join() === set.map(spell).sort().join();
};

interface Tally {
  tried: number;
  named: number;
  invisible: number;
  readonly missed: string[];
}
const tally = (): Tally => ({ tried: 0, named: 0, invisible: 0, missed: [] });
/** Said as it is; a fault that was missed ends the program with 1. */
const say = (label: string, t: Tally): void => {
  console.log(
    `${label}: ${t.tried} set, ${t.named} named, ${t.invisible} without any effect, ${t.missed.length} missed${t.missed.length > 0 ? `: ${t.missed.slice(0, 10).join('; ')}` : ''}`,
  );
  if (t.missed.length > 0) process.exitCode = 1;
};

/** Burned clean (the cells hold the image), read through the fault. */
async function fromReadback(image: Image, sets: readonly (readonly WiringFault[])[], label: string): Promise<void> {
  const t = tally();
  for (const [index, set] of sets.entries()) {
    const faults = set.map(spellWiringFault);
    const readback = await onFaultyBench('AT28C16', image.bytes, faults, index + 1, (writer) => writer.read(0, 2048));
    const found = explainReadback(image, readback, { part: findPart('AT28C16') });
    t.tried += 1;
    if (found.healthy) t.invisible += 1;
    else if (found.explanations.some((e) => same(e.faults, set)) || found.explanations.length > 0) {
      // Named, or an explanation that reproduces the very same readback: a member of its indistinguishable class.
      t.named += 1;
    } else t.missed.push(faults.join(' and '));
    if (t.tried % 100 === 0) console.error(`${label}: ${t.tried} of ${sets.length}`);
  }
  say(label, t);
}

/** A scripted builder: sets what is asked, looks at what the chip gives through the fault, types what lights. */
async function atTheDisplay(sets: readonly (readonly WiringFault[])[], label: string): Promise<void> {
  const plan = readPlan(readFileSync(new URL('tests/support/tide-gauge.yaml', top), 'utf8'), 'tide-gauge.yaml');
  const rom = romOf(plan);
  const image = buildPlan(plan)[0]!.image;
  const circuit = circuitOfPlan(plan, rom, image);
  const t = tally();
  let questions = 0;
  let most = 0;
  for (const [index, set] of sets.entries()) {
    const faults = set.map(spellWiringFault);
    const shown = await onFaultyBench('AT28C16', image.bytes, faults, index + 1, (writer) => writer.read(0, 2048));
    let session = startSession(circuit, set.length === 1 ? 1 : 2);
    let asked = 0;
    for (let question = nextQuestion(session); question !== null; question = nextQuestion(session)) {
      const sight: Sight = question.views.map((view) => view.lit[shown[view.address]!]!);
      session = answer(session, question, typed(circuit.shows, sight));
      asked += 1;
    }
    questions += asked;
    most = Math.max(most, asked);
    const end = verdict(session);
    t.tried += 1;
    if (end.state === 'healthy') t.invisible += 1;
    else if (end.state === 'explained') t.named += 1;
    else t.missed.push(faults.join(' and '));
    if (t.tried % 100 === 0) console.error(`${label}: ${t.tried} of ${sets.length}`);
  }
  say(`${label} (${(questions / sets.length).toFixed(2)} questions on average, ${most} at most)`, t);
}

/** Set before anything is burned: found, or on the list of what the rig cannot see; the bytes afterwards as before. */
async function byTheRig(chip: string): Promise<void> {
  const { polling, ...row } = findPart(chip);
  // As the command does it: a data line that is in doubt is no witness for the end of a cycle.
  const part = { ...row, polling: { ...polling, value: 'limit' as const } };
  const old = seededRandom(3).bytes(part.cells);
  const t = tally();
  const readsOtherwise: string[] = [];
  const changed: string[] = [];
  for (const [index, fault] of [...singleFaults(part.addressLines), ...open(part.addressLines)].entries()) {
    const {
      verdict: seen,
      reads,
      cells,
    } = await onFaultyBench(chip, old, [spellWiringFault(fault)], index + 1, async (writer, bench) => {
      await writer.chip(chipChoice(part));
      const before = await writer.read(0, part.cells);
      const tests = {
        dataBus: dataBusTest(),
        addressBus: addressBusTest(part.addressLines),
        witness: pageWitnessBytes,
        codeCells: part.protection.value ? protectionCodes(part).on.map((load) => load.address) : [],
      };
      const { carriesAll, ...lines } = await trySeatedChip(writer, drivenBytes);
      const { readings = {} } = carriesAll ? await tryScratchChip(writer, part, before, tests) : {};
      const after = await writer.read(0, part.cells);
      // A line that nobody drives reads its charge.
      const reads = after.every((b, i) => ((b ^ before[i]!) & ~lines.followed) === 0);
      const verdict = judgeRig({ part, ...lines, ...readings });
      return { verdict, reads, cells: bench.truth.every((b, i) => b === old[i]) };
    });
    t.tried += 1;
    if (!reads) readsOtherwise.push(spellWiringFault(fault));
    if (!cells) changed.push(spellWiringFault(fault));
    const spelled = spellWiringFault(fault);
    if (seen.sound && seen.unseen.some((f) => spellWiringFault(f) === spelled)) t.invisible += 1;
    else if (!seen.sound && faultsAmong(seen.explanations).some((f) => spellWiringFault(f) === spelled)) t.named += 1;
    else t.missed.push(`${spelled} (${linesOf(fault).join(' ')})`);
  }
  say(`rig with a scratch ${chip} ("without effect": on its list of what it cannot see)`, t);
  const kinds = (list: readonly string[]): string =>
    [
      ...new Set(
        list.map(
          (f) =>
            `${f[0]} ${f
              .split(' ')
              .filter((w) => !/^[AD]\d/.test(w))
              .join(' ')}`,
        ),
      ),
    ].join(', ');
  console.log(
    `  afterwards the chip read otherwise than before in ${readsOtherwise.length} cases (${kinds(readsOtherwise)});`,
  );
  console.log(`  its true cells were other than before in ${changed.length} cases (${kinds(changed)})`);
}

export async function main(words: readonly string[]): Promise<void> {
  const pairs = Number(words[0] ?? 1000);
  // None: the rig alone.
  if (pairs === 0) {
    await byTheRig('AT28C16');
    return byTheRig('AT28C64B');
  }
  const plan = readPlan(readFileSync(new URL('tests/support/tide-gauge.yaml', top), 'utf8'), 'tide-gauge.yaml');
  const image = buildPlan(plan)[0]!.image;
  const singles = [...singleFaults(11), ...open(11)];
  const random = seededRandom(11);
  const two: WiringFault[][] = [];
  while (two.length < pairs) {
    const pair = [random.pick(singles), random.pick(singles)];
    const lines = pair.flatMap(linesOf);
    if (new Set(lines).size === lines.length) two.push(pair);
  }
  await fromReadback(
    image,
    singles.map((f) => [f]),
    'single faults from a readback',
  );
  await fromReadback(image, two, 'pairs of faults from a readback');
  await atTheDisplay(
    singles.map((f) => [f]),
    'single faults at the display',
  );
  await atTheDisplay(two.slice(0, Math.ceil(pairs / 10)), 'pairs of faults at the display');
  await byTheRig('AT28C16');
  await byTheRig('AT28C64B');
}
