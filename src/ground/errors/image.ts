// Errors of the room image: code, exit, sentence, note.
import { hex } from '../byte-text.js';
import { exit } from '../exit.js';
import { at, type Place, row } from './row.js';

const address = (value: number): string => `0x${hex(value, 4)}`;
const broken = 'Take the file again from where it was made; a file that is wrong in one place may be wrong in others.';

export const imageErrors = {
  'image.character': row<{ place: Place; found: string; wanted: string }>(
    exit.usage,
    (f) => `${at(f.place)}: ${f.found} stands where ${f.wanted} belongs.`,
    () => 'A record file holds records only: one a line, hexadecimal digits, no spaces and no comments.',
  ),
  'image.record-shape': row<{ place: Place; problem: string }>(
    exit.usage,
    (f) => `${at(f.place)}: the record has ${f.problem}.`,
    () => `Each byte is two digits, and a record has a length, an address and a sum. ${broken}`,
  ),
  'image.record-length': row<{ place: Place; said: number; found: number; counts: string }>(
    exit.usage,
    (f) => `${at(f.place)}: the length says ${f.said} bytes (${f.counts}), the line has ${f.found}.`,
    () => `Length and line agree in a whole record. ${broken}`,
  ),
  'image.record-sum': row<{ place: Place; said: number; computed: number }>(
    exit.usage,
    (f) => `${at(f.place)}: the record's sum is ${hex(f.said)}, its bytes give ${hex(f.computed)}.`,
    () => `Some digit of this line was changed. ${broken}`,
  ),
  'image.record-type': row<{ place: Place; type: string; known: string }>(
    exit.usage,
    (f) => `${at(f.place)}: there is no record type ${f.type}.`,
    (f) => `Record types are ${f.known}.`,
  ),
  'image.record-field': row<{ place: Place; problem: string; right: string }>(
    exit.usage,
    (f) => `${at(f.place)}: this is ${f.problem}.`,
    (f) => f.right,
  ),
  'image.record-count': row<{ place: Place; said: number; counted: number }>(
    exit.usage,
    (f) => `${at(f.place)}: the file says that it has ${f.said} data records, there are ${f.counted}.`,
    () => `Lines were lost or added. ${broken}`,
  ),
  'image.outside': row<{ place: Place; from: number; to: number; first: number; last: number }>(
    exit.usage,
    (f) =>
      `${at(f.place)}: the record's bytes go to ${address(f.from)}..${address(f.to)}, outside ${address(f.first)}..${address(f.last)}.`,
    (f) =>
      `Cells ${address(f.first)} to ${address(f.last)} are there. A larger chip, or a program linked for another address?`,
  ),
  'image.overlap': row<{ place: Place; address: number; earlierLine: number; earlier: number; later: number }>(
    exit.usage,
    (f) =>
      `${at(f.place)}: ${address(f.address)} becomes ${hex(f.later)}, but line ${f.earlierLine} set it to ${hex(f.earlier)}.`,
    () => 'Each cell gets one value. Were two programs put into one file?',
  ),
  'image.after-end': row<{ place: Place; endLine: number }>(
    exit.usage,
    (f) => `${at(f.place)}: text follows the end record of line ${f.endLine}.`,
    () => 'The end record is the last line. Were two files joined?',
  ),
  'image.no-end': row<{ place: Place }>(
    exit.usage,
    (f) => `${at(f.place)}: the file stops without an end record.`,
    () =>
      `The last line is an end record (":00000001FF" in Intel HEX, S7, S8 or S9 in S-records); this file looks cut off.`,
  ),
  'image.empty': row<{ file: string }>(
    exit.usage,
    (f) => `${f.file} holds no byte at all.`,
    () => 'An image with at least one byte was expected. Was the file cut off?',
  ),
  'image.too-large': row<{ file: string; sizeBytes: number; cells: number }>(
    exit.usage,
    (f) =>
      `${f.file} has ${f.sizeBytes} bytes, ${f.sizeBytes - f.cells} more than the ${f.cells} cells there are room for.`,
    () => 'A raw binary file fits when it is no longer than the chip.',
  ),
  'image.readers-disagree': row<{ file: string; address: number }>(
    exit.ourFault,
    (f) => `Two readers of Intel HEX disagree on ${f.file} at ${address(f.address)}, so the file is not used.`,
    () => 'This is a fault of the tool. Please report it with the file.',
  ),
  'image.range': row<{ text: string; problem: string }>(
    exit.usage,
    (f) => `"${f.text}" is not a range: ${f.problem}.`,
    () => 'Write first and last address, both included, such as 0x100..0x1FF or 256..511.',
  ),
};
