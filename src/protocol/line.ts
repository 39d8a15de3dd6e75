// The form of one protocol line: number, word, fields, check sequence (firmware-protocol.md section 1).
import { bytesOfText, hex } from '../ground/byte-text.js';
import { crc16Ibm3740 } from '../ground/check-sums.js';

/** A line taken apart; what its word and fields mean is not looked at yet. */
export interface LineParts {
  /** 0 to FF. */
  readonly seq: number;
  readonly word: string;
  readonly fields: readonly string[];
  /** The check sequence, which fitted. */
  readonly check: number;
}

/** The check sequence of a line's text before the space in front of it: CRC-16/IBM-3740. */
export const checkOf = (text: string): number => crc16Ibm3740(bytesOfText(text));

/** Adds the check sequence and the LF to text. For lines that are wrong in another way on purpose, too. */
export const withCheck = (text: string): string => `${text} ${hex(checkOf(text), 4)}\n`;

/** One line with its LF. Fields stand as they are given. */
export const composeLine = (seq: number, word: string, fields: readonly string[]): string =>
  withCheck([hex(seq), word, ...fields].join(' '));

/** Spaces separate and never repeat, so the pattern has one way to match and takes linear time. */
const form = /^([0-9A-F]{2}) ([a-z]{1,12})((?: [!-~]+)*) ([0-9A-F]{4})$/;

/** The parts of a line without its LF, or null where the form or the check sequence is wrong (refusal 1). */
export function partsOfLine(line: string): LineParts | null {
  const match = form.exec(line);
  if (match === null) return null;
  const check = Number.parseInt(match[4]!, 16);
  if (checkOf(line.slice(0, -5)) !== check) return null;
  const fields = match[3]! === '' ? [] : match[3]!.slice(1).split(' ');
  return { seq: Number.parseInt(match[1]!, 16), word: match[2]!, fields, check };
}
