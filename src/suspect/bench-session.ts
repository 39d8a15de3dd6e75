// Questions about a board in its circuit, one after the other, each the one that narrows most, to a verdict.

import { linesOf, spellWiringFault, type WiringFault } from '../chip/wiring-fault.js';
import { countOf } from '../ground/quantity.js';
import { type Answered, BenchHypotheses, bestQuestion } from './bench-hypotheses.js';
import { type Circuit, type Hypothesis, healthyHypothesis, type Question, sightNumber } from './circuit.js';
import { faultWords, listWords, sentence, verbFor } from './fault-words.js';
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
  readonly text: string;
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
  /** Why the remaining ones are not told apart; null where there is nothing to say. */
  readonly why: string | null;
  readonly doubtful: readonly DoubtfulAnswer[];
  readonly text: string;
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

const explained = (circuit: Circuit, h: Hypothesis): BenchExplanation => ({
  faults: h.faults,
  text: sentence(h.faults.map((fault) => faultInCircuit(circuit, fault)).join(', and ')),
});

/** "address line A3 (reading bit 0) is stuck low or open". */
const faultInCircuit = (circuit: Circuit, fault: WiringFault): string => {
  let words = faultWords(fault);
  for (const line of linesOf(fault)) {
    const carries = circuit.carries.get(line);
    if (carries !== undefined) words = words.replace(new RegExp(`\\b${line}\\b`), `${line} (${carries})`);
  }
  return fault.kind === 'stuck' ? `${words}, or open and seen so` : words;
};

const doubtfulAnswers = (s: BenchSession): DoubtfulAnswer[] =>
  s.answered.flatMap((doubted) => {
    if (doubted.seen.kind === 'unknown') return [];
    const left = s.hypotheses.singlesThatFit(s.answered.filter((a) => a !== doubted));
    if (left.length === 0) return [];
    const otherwiseHealthy = healthyFits(left);
    const otherwise = otherwiseHealthy ? [] : left.slice(0, namedMax).map((h) => explained(s.circuit, h));
    return [{ question: doubted.question, text: doubted.text, otherwise, otherwiseHealthy }];
  });

const doubtWords = (doubtful: readonly DoubtfulAnswer[]): string => {
  if (doubtful.length === 0) return '';
  const each = doubtful.map((d) => {
    const rest = d.otherwiseHealthy
      ? 'nothing would be wrong'
      : `it would be: ${d.otherwise[0]!.text.replace(/\.$/, '')}`;
    return `"${d.text}" at ${d.question.words} (without it ${rest})`;
  });
  return ` ${doubtful.length === 1 ? 'The doubtful answer is' : 'One of these answers may be mistyped:'} ${listWords(each, 'or')}.`;
};

/** Two faults in both orders, or as one net, are one explanation in words. */
const distinctOf = (fitting: readonly Hypothesis[]): Hypothesis[] => {
  const byFaults = new Map<string, Hypothesis>();
  for (const h of fitting) {
    const key = h.faults.map(spellWiringFault).sort().join();
    if (h !== healthyHypothesis && !byFaults.has(key)) byFaults.set(key, h);
  }
  return [...byFaults.values()];
};

/** What is said where nothing fits, with the faults that no answer contradicts since the plan leaves open what they would show. */
const noneOfThese = ({ circuit, hypotheses, answered }: BenchSession, allAnswers: string): string => {
  const left = hypotheses.singlesNotRuledOut(answered).map((h) => explained(circuit, h).text.replace(/\.$/, ''));
  if (left.length === 0) return `None of these: no explanation on the list agrees with ${allAnswers}.`;
  const more = left.length > namedMax ? ` (and ${left.length - namedMax} more)` : '';
  return `None of these: no explanation on the list foretells ${allAnswers}. Not ruled out, since the plan does not define what it would show: ${left.slice(0, namedMax).join('; or ')}${more}.`;
};

/** What the answers say so far. */
export const verdict = (session: BenchSession): BenchVerdict => {
  const { circuit, answered } = session;
  const { fitting, next } = standing(session);
  const answerCount = answered.filter((a) => a.seen.kind !== 'unknown').length;
  const answers = countOf(answerCount, 'answer');
  const singlesFit = fitting.length > 0 && fitting[0]!.faults.length < 2;
  const doubtful = singlesFit ? [] : doubtfulAnswers(session);
  const distinct = distinctOf(fitting);
  const explanations = distinct.slice(0, namedMax).map((h) => explained(circuit, h));
  const unnamed = distinct.length - explanations.length;
  const healthyAgrees = healthyFits(fitting);
  const remaining = distinct.length + (healthyAgrees ? 1 : 0);
  const base = { answers: answerCount, explanations, remaining, healthyAgrees, unnamed, doubtful, why: null };
  if (fitting.length === 0)
    return {
      ...base,
      state: 'contradiction',
      text: `${noneOfThese(session, answerCount === 1 ? 'the only answer' : `all ${answers}`)}${doubtWords(doubtful)}`,
    };
  if (next !== null)
    return {
      ...base,
      state: 'asking',
      text:
        answerCount === 0
          ? 'No answer so far tells anything of the board.'
          : `${countOf(remaining, 'explanation')} still ${verbFor(remaining, 'agrees', 'agree')} with ${answers}.${doubtWords(doubtful)}`,
    };
  const more = unnamed > 0 ? ` (and ${unnamed} more)` : '';
  const settings = circuit.fields.map((f) => f.name).join(', ');
  if (healthyAgrees)
    return {
      ...base,
      explanations: [],
      state: 'healthy',
      why:
        distinct.length > 0
          ? `Of the faults on the list ${distinct.length} would show at no setting of ${settings}: ${explanations.map((e) => e.text).join(' ')}${more}`
          : null,
      text: `Nothing wrong seen: ${answers} ${verbFor(answerCount, 'agrees', 'agree')} with a healthy board, and every fault on the list that shows at all would have shown.`,
    };
  const alike =
    explanations.length > 1 ? `No setting of ${settings} that is left would show a difference between these.` : null;
  return {
    ...base,
    state: 'explained',
    why: alike,
    text: `${explanations.length === 1 ? explanations[0]!.text : `One of these: ${explanations.map((e) => e.text.replace(/\.$/, '')).join('; or ')}${more}.`}${doubtWords(doubtful)}`,
  };
};
