// Observations from a file: one setting and what was seen there a line, `level=37 mode=signed: -12`.
import { printable } from '../ground/byte-text.js';
import type { Place } from '../ground/errors/row.js';
import { ToolError, ToolErrors } from '../ground/errors.js';
import { bitsOfNumber, canHave, sayTaken } from '../plan/value-range.js';
import type { Answered } from './bench-hypotheses.js';
import { answer, type BenchSession } from './bench-session.js';
import type { Circuit, Question, SettableField } from './circuit.js';

/** A value of a field: decimal, 0x hexadecimal, a negative number as two's complement, or one of the builder's names. */
const valueOfField = (field: SettableField, text: string): number | null => {
  for (const [value, name] of field.names) if (name === text) return value;
  if (!/^(?:-?\d{1,9}|0x[0-9a-f]{1,8})$/i.test(text)) return null;
  const number = Number(text);
  // What is written in hexadecimal are the bits, and a field without a sign may be one to its display.
  const isBits = number >= 0 && (text.startsWith('0') || !field.signed);
  const carried = isBits ? number : bitsOfNumber({ ...field, signed: true }, number);
  return carried !== null && canHave(field, carried) ? carried : null;
};

const shape = (circuit: Circuit): string =>
  `A line is ${circuit.fields.map((f) => `${f.name}=...`).join(' ')}: and what was seen, or ? where that is not known.`;

const observation = (place: Place, problem: string, right: string): ToolError =>
  new ToolError('suspect.observation', { place, problem, right });

/** The question that a setting asks. Throws ToolError; `place` is where the setting begins. */
const questionOf = (circuit: Circuit, text: string, place: Place): Question => {
  const values = new Map<string, number>();
  for (const match of text.matchAll(/\S+/g)) {
    const here = { ...place, column: place.column + match.index };
    const [name = '', value, ...more] = match[0].split('=');
    const field = circuit.fields.find((f) => f.name === name);
    if (value === undefined || more.length > 0)
      throw observation(here, `"${printable(match[0])}" is no setting`, shape(circuit));
    if (field === undefined)
      throw observation(
        here,
        `there is no field "${printable(name)}" to set`,
        `Fields are: ${circuit.fields.map((f) => f.name).join(', ')}.`,
      );
    if (values.has(name)) throw observation(here, `${name} is set twice`, shape(circuit));
    const number = valueOfField(field, value);
    if (number === null)
      throw observation(
        here,
        `"${printable(value)}" is no value of ${name}`,
        `${sayTaken(field)}${field.names.size > 0 ? `, or ${[...field.names.values()].join(', ')}` : ''}.`,
      );
    values.set(name, number);
  }
  const missing = circuit.fields.find((f) => !values.has(f.name));
  if (missing !== undefined) throw observation(place, `${missing.name} is not set`, shape(circuit));
  const found = circuit.questions.find((q) => circuit.fields.every((f) => q.values.get(f.name) === values.get(f.name)));
  if (found === undefined)
    throw observation(place, 'this setting is not among those asked', 'Ask for the next question with --next.');
  return found;
};

/** Where each setting was seen before, by its question, and what was typed there. */
type SeenBefore = Map<number, { readonly line: number; readonly answered: Answered }>;

const readLine = (session: BenchSession, line: string, place: Place, before: SeenBefore): BenchSession => {
  const colon = line.indexOf(':');
  if (colon < 0) throw observation(place, 'there is no colon', shape(session.circuit));
  const question = questionOf(session.circuit, line.slice(0, colon), place);
  const after = answeredAt(session, question, line.slice(colon + 1), { ...place, column: colon + 2 });
  const answered = after.answered.at(-1)!;
  const known = before.get(question.index);
  // Not known beside known is no contradiction: it leaves what is known.
  if (known !== undefined && answered.seen.kind === 'unknown') return session;
  if (known !== undefined && known.answered.seen.kind !== 'unknown' && !looksAlike(known.answered, answered))
    throw observation(
      place,
      `this setting stands in line ${known.line} too, where "${printable(known.answered.text)}" was seen`,
      'One of the two is mistyped, or what is seen changes by itself: leave one out, or write ? for it.',
    );
  before.set(question.index, { line: place.line, answered });
  return after;
};

/** One sight may be typed in several ways: "none" and "dark", segments in another order. */
const looksAlike = (one: Answered, other: Answered): boolean => JSON.stringify(one.seen) === JSON.stringify(other.seen);

/** The session with one more answer. Throws suspect.observation; `place` is where the answer's text begins. */
const answeredAt = (session: BenchSession, question: Question, text: string, place: Place): BenchSession => {
  try {
    return answer(session, question, text);
  } catch (error) {
    if (!ToolError.is(error, 'suspect.answer')) throw error;
    const column = place.column - 1 + (text.length - text.trimStart().length) + error.facts.column;
    throw observation({ ...place, column }, error.facts.problem, error.facts.right);
  }
};

/** More mistakes than anybody mends at once; a file of another kind is nothing but mistakes. */
const mistakesMost = 10;

/** The lines of a text one after the other: a large file is not held twice. */
function* linesOf(text: string): Generator<string> {
  for (let from = 0; from <= text.length; ) {
    const found = text.indexOf('\n', from);
    const end = found < 0 ? text.length : found;
    yield text.slice(from, end > from && text[end - 1] === '\r' ? end - 1 : end);
    from = end + 1;
  }
}

/**
 * The session with every observation of a file. Empty lines, and lines that begin with #, say nothing. Throws ToolErrors with
 * the first ten bad lines, by line and column.
 */
export const readObservations = (session: BenchSession, text: string, file: string): BenchSession => {
  const errors: ToolError[] = [];
  const before: SeenBefore = new Map();
  let now = session;
  let number = 0;
  for (const line of linesOf(text)) {
    number += 1;
    if (line.trim() === '' || line.trimStart().startsWith('#')) continue;
    try {
      now = readLine(now, line, { file, line: number, column: 1 }, before);
    } catch (error) {
      if (!(error instanceof ToolError)) throw error;
      errors.push(error);
      if (errors.length === mistakesMost) break;
    }
  }
  if (errors.length > 0) throw new ToolErrors(errors);
  return now;
};
