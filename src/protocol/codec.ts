// Messages to lines and back: the whole of firmware-protocol.md sections 1, 4 and 5 in both directions.
import { printable } from '../ground/byte-text.js';
import { bytes, type FieldKind, fieldOfNumber, fixed, numberOfField } from './field-kind.js';
import { firmwareLimits, type WriterLimits } from './limits.js';
import { composeLine, partsOfLine } from './line.js';
import type { Answer, Decoded, Request } from './message.js';
import { refusalNumber } from './refusals.js';
import { type FieldRow, type RequestWord, requestWords } from './request-words.js';
import { fieldsOfWriter, writerOfFields } from './writer-line.js';

const bad = (seq: number, refusal: number, ...fields: string[]): Decoded<never> => ({
  good: false,
  seq,
  refusal,
  fields,
});

const badLine = bad(0, refusalNumber.badLine);

/** Reads fields by their rows. A number is the index, from 1, of the first field that is wrong, missing or surplus. */
export function readFields(
  rows: readonly FieldRow[],
  fields: readonly string[],
  limits: Pick<WriterLimits, 'echo'>,
): Record<string, unknown> | number {
  const values: Record<string, unknown> = {};
  for (const [place, row] of rows.entries()) {
    const text = fields[place];
    const value = text === undefined ? undefined : row.kind.read(text, limits);
    if (value === undefined) return place + 1;
    values[row.key] = value;
  }
  return fields.length > rows.length ? rows.length + 1 : values;
}

/**
 * One request as a line, LF included.
 * @param seq 1 to 255 (`nextSeq` counts).
 * @throws Error where a value has no spelling or leaves its field's own range: a broken promise of the caller.
 */
export function encodeRequest(seq: number, request: Request): string {
  const values = request as unknown as Record<string, never>;
  const fields = requestWords[request.word].fields.map((row) => {
    const text = row.kind.write(values[row.key]!);
    if (row.kind.read(text, { echo: Infinity }) === undefined) {
      throw new Error(`broken promise: ${request.word} cannot be sent with ${row.name} = ${printable(text)}`);
    }
    return text;
  });
  return composeLine(seq, request.word, fields);
}

/** One answer as a line, LF included. */
export function encodeAnswer(answer: Answer): string {
  return composeLine(answer.seq, answer.word, fieldsOfAnswer(answer));
}

function fieldsOfAnswer(answer: Answer): readonly string[] {
  switch (answer.word) {
    case 'writer':
      return fieldsOfWriter(answer);
    case 'ok':
      return answer.fields;
    case 'data':
      return [fieldOfNumber(answer.address), anyBytes.write(answer.bytes)];
    case 'sums':
      return [fieldOfNumber(answer.address), ...answer.sums.map((sum) => sum8.write(sum))];
    case 'no':
      return [fieldOfNumber(answer.refusal), ...answer.fields];
  }
}

const anyBytes: FieldKind<Uint8Array> = bytes(() => Infinity);
const sum8 = fixed(8);

/**
 * A line (without its LF) as an answer. A bad one tells its number where the check sequence fitted, else 0, and the
 * refusal that a request so spelled would earn: 1 form, 3 unknown word, 4 field.
 */
export function decodeAnswer(line: string): Decoded<Answer> {
  const parts = partsOfLine(line);
  if (parts === null) return badLine;
  const { seq, word, fields } = parts;
  const message = answerOf(seq, word, fields);
  if (message === undefined) return bad(seq, refusalNumber.unknownWord);
  return message === null ? bad(seq, refusalNumber.badField) : { good: true, message };
}

/** Null where a field is wrong, undefined where the word is unknown. */
function answerOf(seq: number, word: string, fields: readonly string[]): Answer | null | undefined {
  switch (word) {
    case 'writer': {
      const limits = writerOfFields(fields);
      return limits && { word, seq, ...limits };
    }
    case 'ok':
      return { word, seq, fields };
    case 'data': {
      const address = numberOfField(fields[0] ?? '');
      const content = anyBytes.read(fields[1] ?? '', firmwareLimits);
      return address === undefined || content === undefined || fields.length > 2
        ? null
        : { word, seq, address, bytes: content };
    }
    case 'sums': {
      const address = numberOfField(fields[0] ?? '');
      const sums = fields.slice(1).map((text) => sum8.read(text, firmwareLimits));
      return address === undefined || sums.length === 0 || sums.includes(undefined)
        ? null
        : { word, seq, address, sums: sums as number[] };
    }
    case 'no': {
      const refusal = numberOfField(fields[0] ?? '');
      return refusal === undefined ? null : { word, seq, refusal, fields: fields.slice(1) };
    }
    default:
      return undefined;
  }
}

/** What the `ok` of each request carries, by value. Words without an entry carry nothing. */
export interface OkValues {
  readonly echo: { readonly bytes: Uint8Array };
  readonly registers: { readonly count: number };
  readonly presence: { readonly mask: number };
  readonly read: { readonly sum: number };
  readonly sum: { readonly count: number };
  readonly hold: { readonly bus: number };
}

/** The values in an `ok` line's fields, by the request that it answers; null where they do not fit that request. */
export function answerFields<Word extends RequestWord>(
  word: Word,
  fields: readonly string[],
): (Word extends keyof OkValues ? OkValues[Word] : Record<never, never>) | null {
  const values = readFields(requestWords[word].ok, fields, firmwareLimits);
  return typeof values === 'number' ? null : (values as never);
}

/** The fields of an `ok` line from its values. */
export function okFields<Word extends keyof OkValues>(word: Word, values: OkValues[Word]): string[] {
  return requestWords[word].ok.map((row) => row.kind.write((values as unknown as Record<string, never>)[row.key]!));
}
