// Questions about a board in its circuit, one after the other, each the one that narrows most, to a verdict.

import { spellWiringFault, type WiringFault } from '../chip/wiring-fault.js';
import { type Answered, BenchHypotheses, bestQuestion } from './bench-hypotheses.js';
import { type Circuit, type Hypothesis, healthyHypothesis, type Question, sightNumber } from './circuit.js';
import { readSeen } from './seen.js';

export interface BenchSession {
  readonly circuit: Circuit;
  readonly hypotheses: BenchHypotheses;
  /** One answer a question; the last one given counts. */
  readonly answered: readonly Answered[];
  /** Faults thought of at once: 2 goes on until no pair of faults would have shown the same. */
  readonly faultsMax: 1 | 2;
}

export interface BenchExplanation {
  readonly faults: readonly WiringFault[];
}

/** An answer that, if it was mistyped, would leave a simpler explanation, or one at all. */
export interface DoubtfulAnswer {
  readonly question: Question;
  readonly text: string;
  /** What would be left without it; empty for a healthy board. */
  readonly otherwise: readonly BenchExplanation[];
  readonly otherwiseHealthy: boolean;
}

export interface BenchVerdict {
  readonly state: 'asking' | 'healthy' | 'explained' | 'contradiction';
  /** What agrees with every answer, simplest first; several where the display cannot tell them apart, or more is to be asked. */
  readonly explanations: readonly BenchExplanation[];
  /** How many answers tell something: "don't know" is none. */
  readonly answers: number;
  /** How many explanations agree with every answer, a healthy board among them where it does. */
  readonly remaining: number;
  readonly healthyAgrees: boolean;
  /** Those of the remaining that are not among `explanations`, a healthy board left out. */
  readonly unnamed: number;
  readonly doubtful: readonly DoubtfulAnswer[];
  /** Where nothing is wrong: faults that would show at no setting. */
  readonly unshown: readonly BenchExplanation[];
  /** Where nothing agrees: single faults that no answer contradicts, since the plan leaves open what they would show. */
  readonly notRuledOut: readonly BenchExplanation[];
}

/** Begins with no answers. `faultsMax` 1 stops at the first single fault that agrees with everything. */
export const startSession = (circuit: Circuit, faultsMax: 1 | 2 = 2): BenchSession => ({
  circuit,
  hypotheses: new BenchHypotheses(circuit),
  answered: [],
  faultsMax,
});

/** The session with one more answer, as typed. Throws suspect.answer. */
export const answer = (session: BenchSession, question: Question, text: string): BenchSession => {
  const seen = readSeen(session.circuit.shows, text);
  const others = session.answered.filter((a) => a.question.index !== question.index);
  return { ...session, answered: [...others, { question, seen, text: text.trim() }] };
};

/** Explanations that agree so far, simplest first, and the next question among them. */
interface Standing {
  readonly fitting: readonly Hypothesis[];
  readonly next: Question | null;
}

const standings = new WeakMap<BenchSession, Standing>();

/** A session never changes, so that what it says is worked out once. */
const standing = (session: BenchSession): Standing => {
  const known = standings.get(session);
  if (known !== undefined) return known;
  const found = standingOf(session);
  standings.set(session, found);
  return found;
};

/** What was seen last, as the first explanation has it: undefined cells that were never written all look alike. */
const lastLooks = (s: BenchSession, [first]: readonly Hypothesis[]): number | null => {
  const last = s.answered.findLast((a) => a.seen.kind !== 'unknown');
  return first === undefined || last === undefined ? null : sightNumber(s.circuit, first, last.question);
};

const standingOf = (s: BenchSession): Standing => {
  const asked = new Set(s.answered.map((a) => a.question.index));
  const singles = s.hypotheses.singlesThatFit(s.answered);
  if (s.faultsMax === 1 || asked.size === 0) {
    const best = asked.size === 0 ? s.hypotheses.opening : bestQuestion(s.circuit, singles, asked);
    return { fitting: singles, next: best };
  }
  const pairs = s.hypotheses.believable(s.hypotheses.pairsThatFit(s.answered), s.answered, 'every');
  const both = [...singles, ...pairs];
  const rivals = s.hypotheses.rivalsOf(both, s.answered);
  const next = both.length === 0 ? null : bestQuestion(s.circuit, [...both, ...rivals], asked, lastLooks(s, both));
  return { fitting: singles.length > 0 ? singles : pairs, next };
};

/** The next question, or null when no further one would tell anything. */
export const nextQuestion = (session: BenchSession): Question | null => standing(session).next;

const healthyFits = (fitting: readonly Hypothesis[]): boolean => fitting[0] === healthyHypothesis;

/** Explanations named in a verdict; the rest is counted. */
const namedMax = 12;

const explained = ({ faults }: Hypothesis): BenchExplanation => ({ faults });

const doubtfulAnswers = (s: BenchSession): DoubtfulAnswer[] =>
  s.answered.flatMap((doubted) => {
    if (doubted.seen.kind === 'unknown') return [];
    const left = s.hypotheses.singlesThatFit(s.answered.filter((a) => a !== doubted));
    if (left.length === 0) return [];
    const otherwiseHealthy = healthyFits(left);
    const otherwise = otherwiseHealthy ? [] : left.slice(0, namedMax).map(explained);
    return [{ question: doubted.question, text: doubted.text, otherwise, otherwiseHealthy }];
  });

/** Two faults in both orders, or as one net, are one explanation in words. */
const distinctOf = (fitting: readonly Hypothesis[]): Hypothesis[] => {
  const byFaults = new Map<string, Hypothesis>();
  for (const h of fitting) {
    const key = h.faults.map(spellWiringFault).sort().join();
    if (h !== healthyHypothesis && !byFaults.has(key)) byFaults.set(key, h);
  }
  return [...byFaults.values()];
};

/** What the answers say so far. */
export const verdict = (session: BenchSession): BenchVerdict => {
  const { answered, hypotheses } = session;
  const { fitting, next } = standing(session);
  const distinct = distinctOf(fitting);
  const healthyAgrees = healthyFits(fitting);
  const singlesFit = fitting.length > 0 && fitting[0]!.faults.length < 2;
  const state =
    fitting.length === 0 ? 'contradiction' : next !== null ? 'asking' : healthyAgrees ? 'healthy' : 'explained';
  const named = distinct.slice(0, namedMax).map(explained);
  return {
    state,
    answers: answered.filter((a) => a.seen.kind !== 'unknown').length,
    explanations: state === 'healthy' ? [] : named,
    remaining: distinct.length + (healthyAgrees ? 1 : 0),
    healthyAgrees,
    unnamed: Math.max(0, distinct.length - namedMax),
    doubtful: singlesFit ? [] : doubtfulAnswers(session),
    unshown: state === 'healthy' ? named : [],
    notRuledOut: state === 'contradiction' ? hypotheses.singlesNotRuledOut(answered).map(explained) : [],
  };
};
