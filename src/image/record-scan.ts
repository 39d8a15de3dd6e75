// The lines of a record file as bytes: what Intel HEX and S-records share. Works on the file's bytes, so that neither a
// huge file nor a huge line costs more than its own size.
import { hex } from '../ground/byte-text.js';
import type { ReadingLog } from './reading-log.js';

/** One line of digits, decoded. `bytes` is valid only until the next record. */
export interface RecordLine {
  readonly line: number;
  /** The record's first characters: ":" or "S" and its digit. */
  readonly mark: string;
  readonly bytes: Uint8Array;
}

export interface RecordForm {
  /** Characters in front of the digits: 1 for ":", 2 for "S1". */
  readonly markLength: 1 | 2;
  /** What is wrong with the mark of a line: the column (from 1) and what would be right; null for a good one. */
  badMark(mark: string): { column: number; wanted: string } | null;
  /** Fewest bytes a record has: length, address, sum. */
  readonly bytesMin: number;
}

const digitOf = new Int8Array(256).fill(-1);
for (let value = 0; value < 16; value++) {
  const digit = value.toString(16);
  digitOf[digit.charCodeAt(0)] = value;
  digitOf[digit.toUpperCase().charCodeAt(0)] = value;
}

const [tab, lf, cr, space] = [0x09, 0x0a, 0x0d, 0x20];
/** The longest record both formats know: one length byte, then 255 bytes and what Intel HEX does not count. */
const recordBytesMax = 1 + 2 + 1 + 255 + 1;

/** A character of the file in words. */
function named(byte: number): string {
  if (byte === space) return 'a space';
  if (byte === tab) return 'a tab';
  if (byte === 0) return 'a NUL byte';
  return byte > 0x20 && byte < 0x7f ? `"${String.fromCharCode(byte)}"` : `the byte ${hex(byte)}`;
}

const startsWithByteOrderMark = (text: Uint8Array): boolean => text[0] === 0xef && text[1] === 0xbb && text[2] === 0xbf;

/**
 * Walks over the records of `text` until `each` says that a record was the last; then only blank lines may follow.
 * Mistakes of single lines go to the log and the walk goes on after them, up to the log's bound.
 */
export function scanRecords(
  text: Uint8Array,
  file: string,
  form: RecordForm,
  log: ReadingLog,
  each: (record: RecordLine) => 'more' | 'last',
): void {
  const decoded = new Uint8Array(recordBytesMax);
  let line = 0;
  let endLine = 0;

  /** Decodes the digits of one line; null when the line is no record, which is then in the log. */
  const decode = (from: number, to: number): RecordLine | null => {
    const bad = (index: number, wanted: string): null => {
      const place = { file, line, column: index - from + 1 };
      log.mistake('image.character', {
        place,
        found: index < to ? named(text[index]!) : 'the end of the line',
        wanted,
      });
      return null;
    };
    const mark = String.fromCharCode(...text.subarray(from, Math.min(from + form.markLength, to)));
    const wrong = form.badMark(mark);
    if (wrong) return bad(from + wrong.column - 1, wrong.wanted);
    const first = from + form.markLength;
    for (let i = first; i < to; i++) if (digitOf[text[i]!]! < 0) return bad(i, 'a hexadecimal digit');
    const digits = to - first;
    const place = { file, line, column: to - from };
    if (digits % 2 === 1) return log.mistake('image.record-shape', { place, problem: 'an odd number of digits' });
    if (digits < 2 * form.bytesMin) return log.mistake('image.record-shape', { place, problem: 'too few digits' });
    if (digits > 2 * recordBytesMax) return log.mistake('image.record-shape', { place, problem: 'too many digits' });
    for (let i = 0; i < digits / 2; i++) {
      decoded[i] = (digitOf[text[first + 2 * i]!]! << 4) | digitOf[text[first + 2 * i + 1]!]!;
    }
    return { line, mark, bytes: decoded.subarray(0, digits / 2) };
  };

  const blank = (from: number, to: number): boolean => {
    for (let i = from; i < to; i++) if (text[i] !== space && text[i] !== tab) return false;
    return true;
  };

  if (startsWithByteOrderMark(text)) {
    log.mistake('image.character', {
      place: { file, line: 1, column: 1 },
      found: 'a byte order mark',
      wanted: 'a record',
    });
  }
  let from = startsWithByteOrderMark(text) ? 3 : 0;
  while (from < text.length && !log.full) {
    line += 1;
    let to = from;
    while (to < text.length && text[to] !== lf && text[to] !== cr) to += 1;
    const place = { file, line, column: 1 };
    if (blank(from, to)) {
      if (endLine === 0) log.warnAt('blank-line', place, (n) => (n === 1 ? 'a blank line' : `${n} blank lines`));
    } else if (endLine > 0) {
      log.mistake('image.after-end', { place, endLine });
      return;
    } else {
      const record = decode(from, to);
      if (record && each(record) === 'last') endLine = line;
    }
    from = text[to] === cr && text[to + 1] === lf ? to + 2 : to + 1;
  }
  if (endLine === 0) log.consequence('image.no-end', { place: { file, line: line + 1, column: 1 } });
}
