// The lines of a record file as bytes: what Intel HEX and S-records share. Works on the file's bytes, so that neither a
// huge file nor a huge line costs more than its own size.
import { hex } from '../ground/byte-text.js';
import type { Place } from '../ground/errors/row.js';
import type { ReadingLog } from './reading-log.js';

/** One line of digits, decoded. `bytes` is valid only until the next record. */
export interface RecordLine {
  readonly line: number;
  /** The record's first characters: ":" or "S" and its digit. */
  readonly mark: string;
  readonly bytes: Uint8Array;
  /** The sum of all bytes but the last, which is the record's own sum. */
  readonly sum: number;
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

export class RecordScan {
  private readonly decoded = new Uint8Array(recordBytesMax);
  private line = 0;

  constructor(
    private readonly text: Uint8Array,
    private readonly file: string,
    private readonly form: RecordForm,
    private readonly log: ReadingLog,
  ) {}

  /**
   * Walks over the records until `each` says that a record was the last; then only blank lines may follow.
   * Mistakes of single lines go to the log and the walk goes on after them, up to the log's bound.
   */
  run(each: (record: RecordLine) => 'more' | 'last'): void {
    const { text, log } = this;
    let endLine = 0;
    let from = this.afterByteOrderMark();
    while (from < text.length && !log.full) {
      this.line += 1;
      let to = from;
      while (to < text.length && text[to] !== lf && text[to] !== cr) to += 1;
      if (this.isBlank(from, to)) {
        if (endLine === 0)
          log.warnAt('blank-line', this.place(1), (n) => (n === 1 ? 'a blank line' : `${n} blank lines`));
      } else if (endLine > 0) {
        log.mistake('image.after-end', { place: this.place(1), endLine });
        return;
      } else {
        const record = this.decode(from, to);
        if (record && each(record) === 'last') endLine = this.line;
      }
      from = text[to] === cr && text[to + 1] === lf ? to + 2 : to + 1;
    }
    this.line += 1;
    if (endLine === 0) log.consequence('image.no-end', { place: this.place(1) });
  }

  private place(column: number): Place {
    return { file: this.file, line: this.line, column };
  }

  private isBlank(from: number, to: number): boolean {
    for (let i = from; i < to; i++) if (this.text[i] !== space && this.text[i] !== tab) return false;
    return true;
  }

  /** Where the first record begins. A byte order mark is told and stepped over. */
  private afterByteOrderMark(): number {
    const { text } = this;
    if (text[0] !== 0xef || text[1] !== 0xbb || text[2] !== 0xbf) return 0;
    const place = { file: this.file, line: 1, column: 1 };
    this.log.mistake('image.character', { place, found: 'a byte order mark', wanted: 'a record' });
    return 3;
  }

  /** Decodes the digits of one line; null when the line is no record, which is then in the log. */
  private decode(from: number, to: number): RecordLine | null {
    const { text, form, log } = this;
    const first = from + form.markLength;
    const mark = String.fromCharCode(...text.subarray(from, Math.min(first, to)));
    const wrong = form.badMark(mark);
    if (wrong) return this.badCharacter(from, from + wrong.column - 1, to, wrong.wanted);
    for (let i = first; i < to; i++) {
      if (digitOf[text[i]!]! < 0) return this.badCharacter(from, i, to, 'a hexadecimal digit');
    }
    const digits = to - first;
    const shape = (problem: string): null =>
      log.mistake('image.record-shape', { place: this.place(to - from), problem });
    if (digits % 2 === 1) return shape('an odd number of digits');
    if (digits < 2 * form.bytesMin) return shape('too few digits');
    if (digits > 2 * recordBytesMax) return shape('too many digits');
    const count = digits / 2;
    let sum = 0;
    for (let i = 0; i < count; i++) {
      const byte = (digitOf[text[first + 2 * i]!]! << 4) | digitOf[text[first + 2 * i + 1]!]!;
      this.decoded[i] = byte;
      if (i < count - 1) sum += byte;
    }
    return { line: this.line, mark, bytes: this.decoded.subarray(0, count), sum };
  }

  private badCharacter(from: number, index: number, to: number, wanted: string): null {
    const found = index < to ? named(this.text[index]!) : 'the end of the line';
    return this.log.mistake('image.character', { place: this.place(index - from + 1), found, wanted });
  }
}
