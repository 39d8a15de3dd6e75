// All suspicions about a board, and which of them still agree with what was seen.
import {
  type Circuit,
  type Hypothesis,
  healthyHypothesis,
  hypothesisOf,
  type Question,
  sightNumber,
  sightOf,
} from './circuit.js';
import { agrees, type Seen } from './seen.js';
import { singleFaults, wiringOf } from './wiring.js';
import { type FaultPair, faultPairs } from './wiring-search.js';

export interface Answered {
  readonly question: Question;
  readonly seen: Seen;
  /** As typed. */
  readonly text: string;
}

const consistent = (circuit: Circuit, h: Hypothesis, answered: readonly Answered[]): boolean =>
  answered.every(({ question, seen }) => seen.kind === 'unknown' || agrees(seen, sightOf(circuit, h, question)));

export class BenchHypotheses {
  /** The healthy board first, then every single fault. */
  readonly singles: readonly Hypothesis[];
  #pairs: readonly Hypothesis[] | null = null;
  readonly #pairsAfter = new WeakMap<Answered, { answered: readonly Answered[]; fitting: readonly Hypothesis[] }>();
  #opening: Question | null | undefined;

  /** `pairsToTry`: which pairs of faults are thought of; all of them, in every order that matters, unless said otherwise. */
  constructor(
    readonly circuit: Circuit,
    private readonly pairsToTry: () => Iterable<FaultPair> = () => faultPairs(circuit.addressLines),
  ) {
    const faults = singleFaults(circuit.addressLines);
    this.singles = [healthyHypothesis, ...faults.map((f) => hypothesisOf([f], wiringOf([f])!))];
  }

  /** Every pair of faults; made when first asked for. */
  get pairs(): readonly Hypothesis[] {
    this.#pairs ??= [...this.pairsToTry()].map(({ faults, wiring }) => hypothesisOf(faults, wiring));
    return this.#pairs;
  }

  /** The best question while nothing is known; chosen once. */
  get opening(): Question | null {
    if (this.#opening === undefined) this.#opening = bestQuestion(this.circuit, this.singles, new Set());
    return this.#opening;
  }

  singlesThatFit(answered: readonly Answered[]): Hypothesis[] {
    return this.singles.filter((h) => consistent(this.circuit, h, answered));
  }

  /** What fits answers that grow one by one is sought among what fitted before. */
  pairsThatFit(answered: readonly Answered[]): readonly Hypothesis[] {
    const last = answered[answered.length - 1];
    if (last === undefined) return this.pairs;
    const known = this.#pairsAfter.get(last);
    if (known?.answered.length === answered.length && known.answered.every((a, i) => a === answered[i]))
      return known.fitting;
    const before = this.pairsThatFit(answered.slice(0, -1));
    const fitting = before.filter((h) => consistent(this.circuit, h, [last]));
    this.#pairsAfter.set(last, { answered, fitting });
    return fitting;
  }
}

/** Hypotheses weighed when a question is chosen; of more, an even spread stands for all. */
const weighedMax = 300;
/** Sights worked out when a question is chosen; where there are more, an even spread of questions is tried first. */
const sightsMax = 160_000;

const spread = <T>(list: readonly T[]): readonly T[] =>
  list.length <= weighedMax
    ? list
    : Array.from({ length: weighedMax }, (_, i) => list[Math.floor((i * list.length) / weighedMax)]!);

/** Bits that an answer is expected to bring when the sights have these numbers, all equally likely. */
const expectedBits = (sights: Int32Array): number => {
  const countOf = new Map<number, number>();
  for (const sight of sights) countOf.set(sight, (countOf.get(sight) ?? 0) + 1);
  let bits = 0;
  for (const count of countOf.values()) bits -= (count / sights.length) * Math.log2(count / sights.length);
  return bits;
};

const best = (circuit: Circuit, weighed: readonly Hypothesis[], asked: ReadonlySet<number>, stride: number) => {
  const sights = new Int32Array(weighed.length);
  let most = 1e-9;
  let found: Question | null = null;
  for (let q = 0; q < circuit.questions.length; q += stride) {
    const question = circuit.questions[q]!;
    if (asked.has(question.index)) continue;
    for (let i = 0; i < weighed.length; i++) sights[i] = sightNumber(circuit, weighed[i]!, question);
    const bits = expectedBits(sights);
    if (bits <= most) continue;
    most = bits;
    found = question;
  }
  return found;
};

/** The unasked question that is expected to tell most; null where none tells any of these apart. */
export const bestQuestion = (
  circuit: Circuit,
  hypotheses: readonly Hypothesis[],
  asked: ReadonlySet<number>,
): Question | null => {
  if (hypotheses.length < 2) return null;
  const weighed = spread(hypotheses);
  // An odd stride, so that every bit of the settings varies.
  const stride = Math.floor((weighed.length * circuit.questions.length) / sightsMax / 2) * 2 + 1;
  const quick = best(circuit, weighed, asked, stride);
  if (quick !== null || (stride === 1 && weighed.length === hypotheses.length)) return quick;
  // Only all questions and all hypotheses together can say that nothing is left to ask.
  return best(circuit, hypotheses, asked, 1);
};
