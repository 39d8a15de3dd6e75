// Errors of the room image: code, exit, sentence, note.
import { hex } from '../byte-text.js';
import { exit } from '../exit.js';
import { at, type Place, row } from './row.js';

const address = (value: number): string => `0x${hex(value, 4)}`;
const broken = 'Make or copy the file again: where one record is damaged, others may be.';

export const imageErrors = {
  'image.character': row<{ place: Place; found: string; wanted: string }>(
    exit.usage,
    (f) => `${at(f.place)}: expected ${f.wanted}, found ${f.found}.`,
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
    () => `The length must match the line. ${broken}`,
  ),
  'image.record-sum': row<{ place: Place; said: number; computed: number }>(
    exit.usage,
    (f) => `${at(f.place)}: the record's checksum is ${hex(f.said)}, but its bytes give ${hex(f.computed)}.`,
    () => `A digit of this line is wrong. ${broken}`,
  ),
  'image.record-type': row<{ place: Place; type: string; known: string }>(
    exit.usage,
    (f) => `${at(f.place)}: unknown record type ${f.type}.`,
    (f) => `Record types are ${f.known}.`,
  ),
  'image.record-field': row<{ place: Place; problem: string; right: string }>(
    exit.usage,
    (f) => `${at(f.place)}: this is ${f.problem}.`,
    (f) => f.right,
  ),
  'image.record-count': row<{ place: Place; said: number; counted: number }>(
    exit.usage,
    (f) => `${at(f.place)}: the file says it has ${f.said} data records, but it has ${f.counted}.`,
    () => `Lines are missing or were added. ${broken}`,
  ),
  'image.memory-text': row<{ place: Place; problem: string; right: string }>(
    exit.usage,
    (f) => `${at(f.place)}: this is ${f.problem}.`,
    (f) => f.right,
  ),
  'image.outside': row<{ place: Place; from: number; to: number; first: number; last: number }>(
    exit.usage,
    (f) =>
      `${at(f.place)}: the record's bytes go to ${address(f.from)}..${address(f.to)}, outside ${address(f.first)}..${address(f.last)}.`,
    (f) =>
      `The chip has cells ${address(f.first)} to ${address(f.last)}. Does the file belong to a larger chip, or is it linked for another address?`,
  ),
  'image.overlap': row<{ place: Place; address: number; earlierLine: number; earlier: number; later: number }>(
    exit.usage,
    (f) =>
      `${at(f.place)}: ${address(f.address)} is set to ${hex(f.later)}, but line ${f.earlierLine} already set it to ${hex(f.earlier)}.`,
    () => 'A cell can be set once. Were two programs joined into one file?',
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
    (f) => `${f.file} contains no bytes.`,
    () => 'An image has at least one byte. Was the file cut off?',
  ),
  'image.too-large': row<{ file: string; sizeBytes: number; cells: number }>(
    exit.usage,
    (f) =>
      `${f.file} has ${f.sizeBytes} bytes, ${f.sizeBytes - f.cells} more than the ${f.cells} cells it must fit into.`,
    () => 'A raw binary file must not be longer than the chip.',
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
