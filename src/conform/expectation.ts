// What a conformance rule says when a writer does something else than the page demands.
import { ToolError } from '../ground/errors.js';
import { encodeAnswer } from '../protocol/codec.js';
import { fieldOfNumber } from '../protocol/field-kind.js';
import type { Answer } from '../protocol/message.js';
import { refusalRow } from '../protocol/refusals.js';

/** The rule is broken. Ends the rule. */
export const broken = (wanted: string, seen: string): never => {
  throw new ToolError('conform.broken', { wanted, seen });
};

/** Goes on where the condition holds, else the rule is broken. */
export const want = (holds: boolean, wanted: string, seen: string): void => {
  if (!holds) broken(wanted, seen);
};

/** An answer as people read it: the line without its check sequence. */
export const spoken = (answer: Answer): string => `\`${encodeAnswer(answer).slice(0, -6)}\``;

/** A refusal as people read it, for what was wanted. */
const refusalInWords = (refusal: number, fields: readonly string[] = []): string =>
  `\`${['no', fieldOfNumber(refusal), ...fields].join(' ')}\` (${refusalRow(refusal)?.name ?? 'unknown'})`;

/** The answer must be `ok`, with these fields where they are given. */
export function wantOk(answer: Answer, fields?: readonly string[]): void {
  const wanted = `\`${['ok', ...(fields ?? [])].join(' ')}\``;
  if (answer.word !== 'ok') broken(wanted, spoken(answer));
  else if (fields) want(answer.fields.join(' ') === fields.join(' '), wanted, spoken(answer));
}

/** The answer must be this refusal, with these fields where they are given. */
export function wantNo(answer: Answer, refusal: number, fields?: readonly string[]): void {
  const wanted = refusalInWords(refusal, fields);
  if (answer.word !== 'no' || answer.refusal !== refusal) broken(wanted, spoken(answer));
  else if (fields) want(answer.fields.join(' ') === fields.join(' '), wanted, spoken(answer));
}
