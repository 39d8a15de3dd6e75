// What answers at the bench say about a board, sentence by sentence.
import { readFileSync } from 'node:fs';
import { expect, it } from 'vitest';
import type { WiringFault } from '../../src/chip/wiring-fault.js';
import { buildPlan, readPlan, romOf } from '../../src/plan/plan.js';
import { benchVerdictWords } from '../../src/report/bench-session-text.js';
import { answer, type BenchSession, nextQuestion, startSession, verdict } from '../../src/suspect/bench-session.js';
import { circuitOfPlan } from '../../src/suspect/plan-circuit.js';
import { typed } from '../../src/suspect/seen.js';
import { observe } from '../suspect/scripted-builder.js';

const plan = readPlan(readFileSync('tests/support/tide-gauge.yaml', 'utf8'), 'tide-gauge.yaml');
const display = circuitOfPlan(plan, romOf(plan), buildPlan(plan)[0]!.image);
const one = startSession(display, 1);
const two = startSession(display);

const said = (session: BenchSession) => benchVerdictWords(verdict(session), session.circuit);

const ask = (begun: BenchSession, faults: readonly WiringFault[]): BenchSession => {
  let session = begun;
  for (let q = nextQuestion(session); q !== null; q = nextQuestion(session))
    session = answer(session, q, typed(display.shows, observe(display, faults, q)));
  return session;
};

it('when a line carries a field, then the explanation says which', () => {
  const [explanation] = said(ask(one, [{ kind: 'stuck', line: 'D0', level: 0 }])).explanations;
  expect(explanation?.text).toBe('Data line D0 (b) is stuck low, or open and seen so.');
});

it('when one explanation or one answer is left, then the sentence is in the singular', () => {
  const singular = /\b1 (?:explanation|answer)s\b|\b1 explanation (?:still )?agree\b|\b1 answer agree\b|\ball 1 /;
  const plural = /\b(?:0|[2-9]|\d\d+) (?:explanation|answer)\b|explanations still agrees|answers agrees/;
  const texts: string[] = [];
  for (const fault of [[], [{ kind: 'crossed', lines: ['A1', 'A4'] }]] as const) {
    let session = two;
    for (let q = nextQuestion(session); q !== null; q = nextQuestion(session)) {
      session = answer(session, q, typed(display.shows, observe(display, fault, q)));
      texts.push(said(session).text);
    }
  }
  for (const text of texts) expect(text).not.toMatch(singular);
  for (const text of texts) expect(text).not.toMatch(plural);
  expect(texts.join(' ')).toMatch(/\b1 explanation still agrees with \d+ answers?\./);
  const first = nextQuestion(one)!;
  expect(said(answer(one, first, '----')).text).toMatch(/agrees with the only answer\./);
  const unknowing = { ...one, circuit: { ...display, questions: [first] } };
  const sound = answer(unknowing, first, typed(display.shows, observe(display, [], first)));
  expect(said(sound).text).toContain('1 answer agrees with a healthy board');
});

it('when one answer is mistyped, then it is named, with what would be without it', () => {
  const at = (words: string) => display.questions.find((q) => q.words === words)!;
  let session: BenchSession = one;
  for (const words of ['level=37 zero=chart marks=0', 'level=127 zero=mean marks=0', 'level=64 zero=chart marks=0'])
    session = answer(session, at(words), typed(display.shows, observe(display, [], at(words))));
  session = answer(session, at('level=100 zero=chart marks=0'), '7-7-');
  expect(said(session).text).toContain(
    'The doubtful answer is "7-7-" at level=100 zero=chart marks=0 (without it nothing would be wrong)',
  );
});
