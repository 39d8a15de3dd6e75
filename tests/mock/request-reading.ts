// Request lines as a writer reads them, by the same rows that spell them.
import { readFields } from '../../src/protocol/codec.js';
import { fieldOfNumber } from '../../src/protocol/field-kind.js';
import { firmwareLimits, type WriterLimits } from '../../src/protocol/limits.js';
import { partsOfLine } from '../../src/protocol/line.js';
import type { Decoded, Request } from '../../src/protocol/message.js';
import { refusalNumber } from '../../src/protocol/refusals.js';
import { type RequestWord, requestWords } from '../../src/protocol/request-words.js';

/** A request as it came off the wire. Number and check sequence together tell a repeated block from a new one. */
export interface ReceivedRequest {
  /** 01 to FF. */
  readonly seq: number;
  readonly request: Request;
  readonly check: number;
}

export const isRequestWord = (text: string): text is RequestWord => Object.hasOwn(requestWords, text);

const bad = (seq: number, refusal: number, ...fields: string[]): Decoded<never> => ({
  good: false,
  seq,
  refusal,
  fields,
});

/**
 * A line (without its LF) as a request, or the refusal that it earns. `limits` are the ones the writer announces.
 * What depends on the chosen chip or on work in hand is not judged here.
 */
export function decodeRequest(
  line: string,
  limits: Pick<WriterLimits, 'line' | 'echo'> = firmwareLimits,
): Decoded<ReceivedRequest> {
  if (line.length + 1 > limits.line) return bad(0, refusalNumber.tooLong);
  const parts = partsOfLine(line);
  if (parts === null || parts.seq === 0) return bad(0, refusalNumber.badLine);
  const { seq, word, check } = parts;
  if (!isRequestWord(word)) return bad(seq, refusalNumber.unknownWord);
  const values = readFields(requestWords[word].fields, parts.fields, limits);
  if (typeof values === 'number') return bad(seq, refusalNumber.badField, fieldOfNumber(values));
  return { good: true, message: { seq, request: { word, ...values } as Request, check } };
}
