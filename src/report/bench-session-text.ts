// What answers at the bench say about a board, in words.
import { type LineName, linesOf } from '../chip/wiring-fault.js';
import type { BenchExplanation, BenchVerdict, DoubtfulAnswer } from '../suspect/bench-session.js';
import type { Circuit } from '../suspect/circuit.js';
import { faultWords, listWords, sentence, verbFor } from './fault-words.js';
import { countOf } from './quantity.js';

/** An explanation without a full stop: "address line A3 (reading bit 0) is stuck low, or open and seen so". */
const explanationWords = ({ faults }: BenchExplanation, { carries }: Circuit): string =>
  faults
    .map((fault) => {
      const named = linesOf(fault).reduce((words, line: LineName) => {
        const field = carries.get(line);
        return field === undefined ? words : words.replace(new RegExp(`\\b${line}\\b`), `${line} (${field})`);
      }, faultWords(fault));
      return fault.kind === 'stuck' ? `${named}, or open and seen so` : named;
    })
    .join(', and ');

/** Sentences without their full stops, one as good as another. */
const oneOf = (list: readonly BenchExplanation[], circuit: Circuit, more: number): string => {
  const each = list.map((e) => sentence(explanationWords(e, circuit)).replace(/\.$/, ''));
  return `${each.join('; or ')}${more > 0 ? ` (and ${more} more)` : ''}.`;
};

const doubtText = (doubtful: readonly DoubtfulAnswer[], circuit: Circuit): string => {
  if (doubtful.length === 0) return '';
  const each = doubtful.map((d) => {
    const rest = d.otherwiseHealthy
      ? 'nothing would be wrong'
      : `it would be: ${sentence(explanationWords(d.otherwise[0]!, circuit)).replace(/\.$/, '')}`;
    return `"${d.text}" at ${d.question.words} (without it ${rest})`;
  });
  return ` ${doubtful.length === 1 ? 'The doubtful answer is' : 'One of these answers may be mistyped:'} ${listWords(each, 'or')}.`;
};

/** Most faults that are named where nothing agrees. */
const namedMost = 12;

const noneText = ({ answers, notRuledOut }: BenchVerdict, circuit: Circuit): string => {
  const all = answers === 1 ? 'the only answer' : `all ${countOf(answers, 'answer')}`;
  if (notRuledOut.length === 0) return `No known fault agrees with ${all}. Look again at the answers.`;
  const left = oneOf(notRuledOut.slice(0, namedMost), circuit, notRuledOut.length - namedMost);
  return `No known fault predicts ${all}. Still possible, because the plan does not define what it would show: ${left}`;
};

const stateText = (v: BenchVerdict, circuit: Circuit): string => {
  const answers = countOf(v.answers, 'answer');
  switch (v.state) {
    case 'contradiction':
      return noneText(v, circuit);
    case 'asking':
      return v.answers === 0
        ? 'No answer so far tells anything of the board.'
        : `${countOf(v.remaining, 'explanation')} still ${verbFor(v.remaining, 'agrees', 'agree')} with ${answers}.`;
    case 'healthy':
      return `No fault shows: ${answers} ${verbFor(v.answers, 'agrees', 'agree')} with a healthy board, and every known fault that can show would have shown.`;
    case 'explained':
      return v.explanations.length === 1
        ? sentence(explanationWords(v.explanations[0]!, circuit))
        : `One of these: ${oneOf(v.explanations, circuit, v.unnamed)}`;
  }
};

/** Why the remaining ones are not told apart; null where there is nothing to say. */
const whyText = (v: BenchVerdict, circuit: Circuit): string | null => {
  const settings = circuit.fields.map((f) => f.name).join(', ');
  if (v.state === 'healthy' && v.unshown.length > 0) {
    const each = v.unshown.map((e) => sentence(explanationWords(e, circuit))).join(' ');
    return `Of the faults on the list ${v.unshown.length + v.unnamed} would show at no setting of ${settings}: ${each}${v.unnamed > 0 ? ` (and ${v.unnamed} more)` : ''}`;
  }
  return v.state === 'explained' && v.explanations.length > 1
    ? `No setting of ${settings} that is left would show a difference between these.`
    : null;
};

/** The facts of a verdict, and beside them what is said of each; what `--json` prints. */
export const benchVerdictWords = (v: BenchVerdict, circuit: Circuit) => {
  const said = (e: BenchExplanation) => ({ ...e, text: sentence(explanationWords(e, circuit)) });
  return {
    ...v,
    explanations: v.explanations.map(said),
    unshown: v.unshown.map(said),
    notRuledOut: v.notRuledOut.map(said),
    doubtful: v.doubtful.map((d) => ({ ...d, otherwise: d.otherwise.map(said) })),
    why: whyText(v, circuit),
    text: `${stateText(v, circuit)}${v.state === 'healthy' ? '' : doubtText(v.doubtful, circuit)}`,
  };
};

/** What agrees with the answers while more is to be asked; a verdict at the end names its explanations itself. */
const stillAgreeing = (v: ReturnType<typeof benchVerdictWords>): string => {
  if (v.state !== 'asking' || v.answers === 0) return '';
  return [
    ...(v.healthyAgrees ? ['  - Nothing is wrong.\n'] : []),
    ...v.explanations.map((e) => `  - ${e.text}\n`),
    ...(v.unnamed > 0 ? [`  and ${v.unnamed} more.\n`] : []),
  ].join('');
};

export const benchVerdictText = (facts: BenchVerdict, circuit: Circuit): string => {
  const v = benchVerdictWords(facts, circuit);
  return `${v.text}\n${stillAgreeing(v)}${v.why === null ? '' : `${v.why}\n`}`;
};
