// npm run bench -- suspects [cases] [pairs]: how far the suspects room reaches, and that it accuses nobody falsely.
import { readFileSync } from 'node:fs';
import { spellWiringFault, type WiringFault } from '../src/chip/wiring-fault.js';
import { type Random, seededRandom } from '../src/ground/random.js';
import { type Image, imageOfBytes } from '../src/image/image.js';
import { buildPlan, readPlan, romOf } from '../src/plan/plan.js';
import { BenchHypotheses } from '../src/suspect/bench-hypotheses.js';
import { answer, nextQuestion, startSession } from '../src/suspect/bench-session.js';
import { type Circuit, type Hypothesis, sightOf } from '../src/suspect/circuit.js';
import { explainReadback } from '../src/suspect/explain-readback.js';
import type { ReadbackVerdict } from '../src/suspect/explanation.js';
import { addressThrough, dataTable, solvePermutation } from '../src/suspect/permutation.js';
import { circuitOfPlan } from '../src/suspect/plan-circuit.js';
import { readbackCase } from '../src/suspect/readback-case.js';
import { typed } from '../src/suspect/seen.js';
import { singleFaults } from '../src/suspect/wiring.js';
import { type FaultPair, faultPairs } from '../src/suspect/wiring-search.js';
import { controlStore } from '../tests/suspect/display-image.js';
import { burnsAgain } from '../tests/suspect/naive-burner.js';
import { makesAgain, readNaively } from '../tests/suspect/naive-reader.js';
import { figureRow, plainRow, type Row, type Section, tellTable } from './row.js';

const median = (list: number[]): number => [...list].sort((a, b) => a - b)[list.length >> 1]!;
const mean = (list: readonly number[]): number => list.reduce((a, b) => a + b, 0) / list.length;

const timed = <T>(work: () => T): { ms: number; result: T } => {
  const began = performance.now();
  const result = work();
  return { ms: performance.now() - began, result };
};

/** Explanations offered of a healthy board, not exact, or by wires that do not make this readback when they are made again. */
const falseAccusations = (image: Image, readback: Uint8Array, { healthy, explanations }: ReadbackVerdict): number =>
  explanations.filter(
    (one) =>
      healthy ||
      !one.exact ||
      makesAgain(image.bytes, readback, one, image.defined) === false ||
      burnsAgain(image, readback, one, null) === false,
  ).length;

interface Tally {
  readonly ms: number[];
  named: number;
  simpler: number;
  unexplained: number;
  accused: number;
}

/** Reads an image through faults and counts whether they, or something simpler that reads the same, are named. */
const tallyFaults = (image: Image, cases: readonly (readonly WiringFault[])[]): Tally => {
  const tally: Tally = { ms: [], named: 0, simpler: 0, unexplained: 0, accused: 0 };
  for (const faults of cases) {
    const readback = readNaively(image.bytes, faults);
    const { ms, result } = timed(() => explainReadback(image, readback));
    tally.ms.push(ms);
    tally.accused += falseAccusations(image, readback, result);
    const key = JSON.stringify(faults);
    if (result.explanations.some((e) => JSON.stringify(e.faults) === key)) tally.named++;
    else if (result.healthy || result.explanations.length > 0) tally.simpler++;
    else tally.unexplained++;
  }
  return tally;
};

const faultRows = (what: string, tally: Tally): Row[] => [
  plainRow(`${what}: named / named by what reads the same`, `${tally.named} / ${tally.simpler}`),
  figureRow(`${what}: without explanation`, tally.unexplained, 'cases', 0, 0),
  figureRow(`${what}: false accusations`, tally.accused, 'cases', 0, 0),
  plainRow(`${what}: median, longest`, `${median(tally.ms).toFixed(1)}, ${Math.max(...tally.ms).toFixed(1)} ms`),
];

/** An image that defines nothing where its highest line is high; the chip holds there what the image held. */
const halfOf = (image: Image): Image => ({
  ...image,
  defined: image.defined.map((_, a) => (a < image.bytes.length / 2 ? 1 : 0)),
});

/** Healthy readbacks, damage that no wire makes, three faults at once, and noise: nothing false may be said of any. */
const unlistedSection = (what: string, images: readonly Image[], cases: number, random: Random): Section => {
  let accused = 0;
  let offered = 0;
  for (let n = 0; n < cases; n++) {
    const image = random.pick(images);
    let readback: Uint8Array = image.bytes.slice();
    const kind = n % 4;
    if (kind === 1)
      for (let k = 0; k <= random.below(40); k++) readback[random.below(readback.length)] = random.below(256);
    if (kind === 2)
      readback = readNaively(
        image.bytes,
        [0, 1, 2].map(() => random.pick(singleFaults(11))),
      );
    if (kind === 3) readback = random.bytes(readback.length);
    const found = explainReadback(image, readback);
    accused += falseAccusations(image, readback, found);
    if (found.explanations.length > 0) offered++;
  }
  return {
    heading: `${cases} healthy or unlisted readbacks of ${what}`,
    rows: [
      figureRow('false accusations', accused, 'cases', 0, 0),
      plainRow('cases that something on the list explains exactly', `${offered}`),
    ],
    notes: ['a quarter each: healthy, random cells damaged, three wiring faults, random bytes'],
  };
};

const shuffled = (count: number, random: Random): number[] => {
  const list = Array.from({ length: count }, (_, i) => i);
  for (let i = count - 1; i > 0; i--) {
    const j = random.below(i + 1);
    [list[i], list[j]] = [list[j]!, list[i]!];
  }
  return list;
};

const permutationRows = (name: string, image: Image, reachMs: number, random: Random): Row[] => {
  const lines = Math.log2(image.bytes.length);
  const trials = Array.from({ length: 40 }, () => {
    const permutation = { address: shuffled(lines, random), data: shuffled(8, random) };
    const table = dataTable(permutation);
    const readback = image.bytes.map((_, a) => table[image.bytes[addressThrough(permutation, a)]!]!);
    const { ms, result } = timed(() => solvePermutation(readbackCase(image, readback)));
    return {
      ms,
      unique: result?.count === 1 && JSON.stringify(result.permutation) === JSON.stringify(permutation),
      result,
    };
  });
  const ambiguous = trials.find((t) => t.result !== null && t.result.count > 1)?.result;
  const groups = ambiguous?.exchangeable.map((group) => group.join(' ')).join('; ');
  return [
    figureRow(`${name}, ${lines} + 8 lines: median of 40`, median(trials.map((t) => t.ms)), 'ms', reachMs, 2),
    plainRow(
      `${name}: found and the only one`,
      ambiguous ? `ambiguous, ${ambiguous.count} fit: ${groups}` : `${trials.filter((t) => t.unique).length} of 40`,
    ),
  ];
};

/** The display's table at a wider chip, in which the four highest lines change nothing. */
const mirrored = (image: Image): Image =>
  imageOfBytes(
    'mirrored',
    Uint8Array.from({ length: 32768 }, (_, a) => image.bytes[a % 2048]!),
  );

/** Every pair of single faults once, the order of two faults on one line left out of account. */
function* pairsOnce(addressLines: number): Generator<FaultPair> {
  const seen = new Set<string>();
  for (const pair of faultPairs(addressLines)) {
    const key = pair.faults.map(spellWiringFault).sort().join(', ');
    if (!seen.has(key)) yield pair;
    seen.add(key);
  }
}

const benchRows = (circuit: Circuit, pairs: number, random: Random): Row[] => {
  const singlesOnly = startSession(circuit, 1);
  const { singles } = singlesOnly.hypotheses;
  const prints = singles.map((h) => circuit.questions.map((q) => sightOf(circuit, h, q).join()).join(';'));
  const classes = new Set(prints).size;
  const first = nextQuestion(singlesOnly)!;
  const firstBits = entropy(singles.map((h) => sightOf(circuit, h, first).join()));
  const asked = (begun: typeof singlesOnly, h: Hypothesis): { questions: number; ms: number; right: boolean } => {
    let session = begun;
    const { ms } = timed(() => {
      for (let q = nextQuestion(session); q !== null; q = nextQuestion(session))
        session = answer(session, q, typed(circuit.shows, sightOf(circuit, h, q)));
    });
    const left = [
      ...session.hypotheses.singlesThatFit(session.answered),
      ...(session.faultsMax === 2 ? session.hypotheses.pairsThatFit(session.answered) : []),
    ];
    const right = left.every((l) =>
      circuit.questions.every((q) => sightOf(circuit, l, q).join() === sightOf(circuit, h, q).join()),
    );
    return { questions: session.answered.length, ms, right };
  };
  const rowsOf = (
    what: string,
    list: readonly ReturnType<typeof asked>[],
    average: number | null,
    most: number,
  ): Row[] => [
    figureRow(`${what}: questions on average`, mean(list.map((s) => s.questions)), '', average, 2),
    figureRow(`${what}: questions at most`, Math.max(...list.map((s) => s.questions)), '', most, 0),
    figureRow(
      `${what}: ended with an explanation left that would show something else`,
      list.filter((s) => !s.right).length,
      '',
      0,
      0,
    ),
    plainRow(
      `${what}: a whole session, average and longest`,
      `${mean(list.map((s) => s.ms)).toFixed(0)}, ${Math.max(...list.map((s) => s.ms)).toFixed(0)} ms`,
    ),
  ];
  const inOneOrder = {
    ...startSession(circuit),
    hypotheses: new BenchHypotheses(circuit, () => pairsOnce(circuit.addressLines)),
  };
  const inEveryOrder = startSession(circuit);
  const sampleOf = (session: typeof inEveryOrder): Hypothesis[] =>
    Array.from({ length: pairs }, () => random.pick(session.hypotheses.pairs));
  return [
    plainRow('single explanations, the healthy board among them', `${singles.length} in ${classes} classes`),
    plainRow(
      'information limit',
      `${Math.log2(classes).toFixed(2)} bits / ${firstBits.toFixed(2)} bits the first answer brings = ${(Math.log2(classes) / firstBits).toFixed(2)} questions`,
    ),
    ...rowsOf(
      'singles',
      singles.map((h) => asked(singlesOnly, h)),
      1.85,
      4,
    ),
    plainRow('pairs, each in one order', `${inOneOrder.hypotheses.pairs.length}`),
    ...rowsOf(
      `${pairs} seeded pairs of these`,
      sampleOf(inOneOrder).map((h) => asked(inOneOrder, h)),
      2.7,
      9,
    ),
    plainRow('pairs, in every order that matters and as nets', `${inEveryOrder.hypotheses.pairs.length}`),
    ...rowsOf(
      `${pairs} seeded pairs of these`,
      sampleOf(inEveryOrder).map((h) => asked(inEveryOrder, h)),
      null,
      9,
    ),
    ...rowsOf('the healthy board, pairs ruled out too', [asked(inEveryOrder, singles[0]!)], 9, 9),
  ];
};

const entropy = (keys: readonly string[]): number => {
  const counts = new Map<string, number>();
  for (const key of keys) counts.set(key, (counts.get(key) ?? 0) + 1);
  return [...counts.values()].reduce((bits, n) => bits - (n / keys.length) * Math.log2(n / keys.length), 0);
};

export function main([casesText = '1000', pairsText = '200']: readonly string[]): void {
  const cases = Number(casesText);
  const pairs = Number(pairsText);
  const random = seededRandom(20);
  const plan = readPlan(
    readFileSync(new URL('../tests/support/tide-gauge.yaml', import.meta.url), 'utf8'),
    'tide-gauge.yaml',
  );
  const display = buildPlan(plan)[0]!.image;
  const control = controlStore(11, random);
  const noise = imageOfBytes('random', random.bytes(2048));
  const faults = singleFaults(11);
  const somePairs = Array.from({ length: pairs }, () => [random.pick(faults), random.pick(faults)]);
  const sections: Section[] = [
    {
      heading: 'readback of the tide gauge, 2K x 8, through wiring faults',
      rows: [
        ...faultRows(
          `${faults.length} single faults`,
          tallyFaults(
            display,
            faults.map((f) => [f]),
          ),
        ),
        ...faultRows(`${pairs} seeded pairs`, tallyFaults(display, somePairs)),
      ],
      notes: ['read through faults by a model written apart from the product'],
    },
    unlistedSection('images that define every byte', [display, control, noise], cases, random),
    unlistedSection('images that define one half', [display, control, noise].map(halfOf), cases, random),
    {
      heading: 'permutations of all lines, from one readback',
      rows: [
        ...permutationRows('display', display, 5, random),
        ...permutationRows('control store', control, 5, random),
        ...permutationRows('random bytes', noise, 5, random),
        ...permutationRows('large control store', controlStore(15, random), 35, random),
        ...permutationRows('random bytes', imageOfBytes('random', random.bytes(32768)), 35, random),
        ...permutationRows('display mirrored in a larger chip', mirrored(display), 35, random),
      ],
      notes: ['with the search for every other permutation that fits'],
    },
    {
      heading: 'questions about the tide gauge on the bench',
      rows: benchRows(circuitOfPlan(plan, romOf(plan), display), pairs, random),
      notes: ['pairs: asked until no single fault and no other pair would have shown the same'],
    },
  ];
  tellTable(sections);
}
