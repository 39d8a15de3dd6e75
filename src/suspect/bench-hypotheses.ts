// All suspicions about a board, and which of them still agree with what was seen.
import {
  type Circuit,
  type Hypothesis,
  healthyHypothesis,
  hypothesisOf,
  isOpen,
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
  readonly #isWhole: boolean;

  /** `pairsToTry`: which pairs of faults are thought of; all of them, in every order that matters, unless said otherwise. */
  constructor(
    readonly circuit: Circuit,
    private readonly pairsToTry: () => Iterable<FaultPair> = () => faultPairs(circuit.addressLines),
  ) {
    this.#isWhole = !circuit.image.defined.includes(0);
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

  /** Single faults, and the healthy board, that agree with every answer and are believable by them. */
  singlesThatFit(answered: readonly Answered[]): readonly Hypothesis[] {
    return this.believable(
      this.singles.filter((h) => consistent(this.circuit, h, answered)),
      answered,
    );
  }

  /**
   * Those of `fitting` that foretell what was seen. One by which the circuit reads cells that the image does not define agrees
   * with any answer: it must foretell some of what a healthy board would not show, and leave open little more than the best does.
   * Of two faults together, which fit much more, `every` such answer is asked.
   */
  believable(
    fitting: readonly Hypothesis[],
    answered: readonly Answered[],
    howMuch: 'some' | 'every' = 'some',
  ): readonly Hypothesis[] {
    const tells = this.#teller(answered, howMuch);
    return tells === null ? fitting : this.#nearlyWhole(fitting.filter(tells), answered, believableMost);
  }

  /** Single faults that no answer contradicts, for the sole reason that the image leaves open what they would show. */
  singlesNotRuledOut(answered: readonly Answered[]): readonly Hypothesis[] {
    if (this.#isWhole) return [];
    const believed = new Set(this.singlesThatFit(answered));
    return this.singles.filter((h) => !believed.has(h) && consistent(this.circuit, h, answered));
  }

  /** Those of the latter that are still to be reckoned with, since what fits has foretold but few answers that they leave open. */
  rivalsOf(fitting: readonly Hypothesis[], answered: readonly Answered[]): readonly Hypothesis[] {
    const rivals = this.singlesNotRuledOut(answered);
    if (rivals.length === 0) return rivals;
    const left = new Set(this.#nearlyWhole([...fitting, ...rivals], answered, openMost));
    return rivals.filter((h) => left.has(h));
  }

  /** Those that leave few answers open, and at most so many more than the one that leaves open the fewest. */
  #nearlyWhole(list: readonly Hypothesis[], answered: readonly Answered[], more: number): readonly Hypothesis[] {
    const counted = list.map((h) => ({ h, open: this.#openAnswers(h, answered) }));
    const least = counted.reduce((min, { open }) => Math.min(min, open), Number.POSITIVE_INFINITY);
    return counted.filter(({ open }) => open <= Math.min(least + more, openMost)).map(({ h }) => h);
  }

  /** Answers that the hypothesis leaves open, a digit as its share of one. */
  #openAnswers(h: Hypothesis, answered: readonly Answered[]): number {
    let open = 0;
    for (const { question, seen } of answered) {
      if (seen.kind === 'unknown') continue;
      const sight = sightOf(this.circuit, h, question);
      open += sight.filter((mask) => mask === -1).length / sight.length;
    }
    return open;
  }

  /** Says whether a hypothesis foretells some, or something of every answer, that a healthy board would not show; null where the image leaves nothing open. */
  #teller(answered: readonly Answered[], howMuch: 'some' | 'every'): ((h: Hypothesis) => boolean) | null {
    if (this.#isWhole) return null;
    const telling = answered
      .map(({ question, seen }) => ({ question, seen, healthy: sightOf(this.circuit, healthyHypothesis, question) }))
      .filter(({ seen, healthy }) => !agrees(seen, healthy));
    const foretells =
      (h: Hypothesis) =>
      ({ question, healthy }: (typeof telling)[number]): boolean =>
        sightOf(this.circuit, h, question).some((mask, i) => mask !== -1 && mask !== healthy[i]);
    return (h) =>
      telling.length === 0 || (howMuch === 'some' ? telling.some(foretells(h)) : telling.every(foretells(h)));
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

/** Answers that a hypothesis may leave open beyond the best one, to be believed (our choice, no source). */
const believableMost = 1;
/** Answers that it may leave open at all: then it is reckoned with no longer, so that the questions come to an end. */
const openMost = 4;
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

const best = (
  circuit: Circuit,
  weighed: readonly Hypothesis[],
  asked: ReadonlySet<number>,
  stride: number,
  openLooks: number | null,
) => {
  const sights = new Int32Array(weighed.length);
  let most = 1e-9;
  let found: Question | null = null;
  for (let q = 0; q < circuit.questions.length; q += stride) {
    const question = circuit.questions[q]!;
    if (asked.has(question.index)) continue;
    for (let i = 0; i < weighed.length; i++) {
      const number = sightNumber(circuit, weighed[i]!, question);
      sights[i] = openLooks !== null && isOpen(number, question) ? openLooks : number;
    }
    const bits = expectedBits(sights);
    if (bits <= most) continue;
    most = bits;
    found = question;
  }
  return found;
};

/**
 * The unasked question that is expected to tell most; null where none tells any of these apart. `openLooks`: the number of the
 * sight that cells which the image does not define are likeliest to give, so that it is asked where that would be a surprise.
 */
export const bestQuestion = (
  circuit: Circuit,
  hypotheses: readonly Hypothesis[],
  asked: ReadonlySet<number>,
  openLooks: number | null = null,
): Question | null => {
  if (hypotheses.length < 2) return null;
  const weighed = spread(hypotheses);
  // An odd stride, so that every bit of the settings varies.
  const stride = Math.floor((weighed.length * circuit.questions.length) / sightsMax / 2) * 2 + 1;
  const quick = best(circuit, weighed, asked, stride, openLooks);
  if (quick !== null || (stride === 1 && weighed.length === hypotheses.length)) return quick;
  // Only all questions and all hypotheses together can say that nothing is left to ask.
  return best(circuit, hypotheses, asked, 1, openLooks);
};
