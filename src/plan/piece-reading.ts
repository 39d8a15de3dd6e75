// One piece of contents `pieces`: what it is, where it goes, and the bytes that it brings.
import { printable } from '../ground/byte-text.js';
import { ToolError, ToolErrors } from '../ground/errors.js';
import type { SumName } from '../ground/published-sums.js';
import { cellsMax } from '../image/cell-map.js';
import type { Image } from '../image/image.js';
import { formatNames } from '../image/image-format.js';
import type { Range } from '../image/range.js';
import { readImage } from '../image/read-image.js';
import type { Complaints } from './complaints.js';
import { type WrittenPiece, widthOfSum } from './piece-schema.js';
import { readNumber } from './schema-words.js';
import type { ReadFile } from './table.js';

/** A piece as it is read: bytes that are known by themselves, or a sum of others. */
export type Piece = {
  /** How a sentence names it, e.g. `dewpoint.bin`. */
  readonly name: string;
  /** Its place among all bytes. */
  readonly at: number;
} & (
  | {
      readonly kind: 'bytes';
      /** What `list` says of it. */
      readonly about: string;
      /** Cell 0 goes to `at`. */
      readonly image: Image;
      /** The address in the file of cell 0; null where the piece is no file. */
      readonly from: number | null;
    }
  | { readonly kind: 'sum'; readonly sum: SumName; readonly of: readonly Range[]; readonly highFirst: boolean }
);

export const lengthOf = (piece: Piece): number =>
  piece.kind === 'bytes' ? piece.image.bytes.length : widthOfSum(piece.sum) / 8;

const kinds = ['file', 'bytes', 'text', 'sum'] as const;
/** Which further keys each kind takes; `at` goes with all. */
const keysOf: Readonly<Record<(typeof kinds)[number], readonly (keyof WrittenPiece)[]>> = {
  file: ['format', 'part'],
  bytes: [],
  text: [],
  sum: ['of', 'order'],
};

/** Reads one piece; null where it cannot be understood, which is then complained about. Paths count from the piece. */
export function readPiece(written: WrittenPiece, readFile: ReadFile | null, complaints: Complaints): Piece | null {
  const { error, errorAtKey } = complaints;
  const [kind, second] = kinds.filter((key) => written[key] !== undefined);
  if (kind === undefined || second !== undefined) {
    const what = kind === undefined ? 'brings no bytes' : `has both ${kind} and ${second}`;
    error('piece.kind', `The piece ${what}.`, `Each piece is one of ${kinds.join(', ')}.`, []);
    return null;
  }
  const strange = Object.values(keysOf)
    .flat()
    .find((key) => written[key] !== undefined && !keysOf[kind].includes(key));
  if (strange !== undefined) {
    const takes = ['at', ...keysOf[kind], 'about'].join(', ');
    errorAtKey('piece.key', `"${strange}" means nothing beside "${kind}".`, `Beside "${kind}" stand: ${takes}.`, [
      strange,
    ]);
    return null;
  }
  if (kind === 'file') return readFilePiece(written, readFile, complaints);
  const { at } = written;
  if (at === undefined) {
    error('shape.missing', 'The key "at" is missing.', 'It says at which byte the piece begins, e.g. at: 0x1F00.', []);
    return null;
  }
  if (kind === 'sum') return readSumPiece(written, at, complaints);
  const bytes = Uint8Array.from(kind === 'text' ? Buffer.from(written.text!, 'latin1') : written.bytes!);
  const name = kind === 'text' ? `text "${written.text}"` : (written.about ?? `${bytes.length} bytes`);
  const image = { name, bytes, defined: new Uint8Array(bytes.length).fill(1) };
  return { kind: 'bytes', name, at, about: name, image, from: null };
}

/** `0x100..0x1FF`, or one address alone; null for anything else. */
function readStretch(written: string | number): Range | null {
  const [from = null, to = from, ...more] = String(written).split('..').map(readNumber);
  return from === null || to === null || from > to || more.length > 0 ? null : { from, to };
}

function readSumPiece({ sum, of, order }: WrittenPiece, at: number, { error }: Complaints): Piece | null {
  if (of === undefined) {
    error('shape.missing', 'The key "of" is missing.', 'It says which bytes are summed, e.g. of: 0x0..0x1FFD.', []);
    return null;
  }
  const ranges: Range[] = [];
  for (const [i, one] of [of].flat().entries()) {
    const range = readStretch(one);
    if (range) ranges.push(range);
    else
      error('piece.range', `"${one}" is not a range of addresses.`, 'Write the first and the last, e.g. 0x0..0x1FFD.', [
        'of',
        ...(Array.isArray(of) ? [i] : []),
      ]);
  }
  const found = ranges.length === [of].flat().length;
  return found ? { kind: 'sum', name: sum!, at, sum: sum!, of: ranges, highFirst: order === 'high-first' } : null;
}

function readFilePiece(written: WrittenPiece, readFile: ReadFile | null, { error, warning }: Complaints): Piece | null {
  const { file, part: writtenPart, format, at } = written;
  const name = file!;
  const part = writtenPart === undefined ? null : readStretch(writtenPart);
  if (writtenPart !== undefined && part === null) {
    error(
      'piece.range',
      `"${writtenPart}" is not a range of addresses.`,
      'Write the first and the last, e.g. 0x8000..0x9FFF.',
      ['part'],
    );
    return null;
  }
  if (readFile === null) {
    error('piece.file', `Nothing was given to read the file "${name}" with.`, 'Hand in a function that reads files.', [
      'file',
    ]);
    return null;
  }
  try {
    // Of a file with far addresses the stretch is read that the part begins in.
    const base = part === null ? 0 : part.from - (part.from % cellsMax);
    const read = readImage(readFile(name), { file: name, format, base });
    for (const { kind, text } of read.warnings) {
      if (kind !== 'gap' && kind !== 'empty') warning('piece.file', text, 'The file is taken all the same.', ['file']);
    }
    const taken = takePart(read.image, part && { from: part.from - base, to: part.to - base });
    if (taken === null) {
      const why = part === null ? 'It is empty, or says nothing.' : `Its addresses run ${sayExtent(read.image, base)}.`;
      error('piece.empty', `"${name}" defines no byte${part === null ? '' : ' of this part'}.`, why, [
        part === null ? 'file' : 'part',
      ]);
      return null;
    }
    const about = `${name}, ${formatNames[read.format]}`;
    return { kind: 'bytes', name, at: at ?? 0, about, image: taken, from: part?.from ?? 0 };
  } catch (problem) {
    const problems: readonly unknown[] = problem instanceof ToolErrors ? problem.errors : [problem];
    for (const one of problems) {
      const [message, why] =
        one instanceof ToolError
          ? [one.message, one.note]
          : [sayProblem(name, one), 'A file stands beside the plan, or is named with its folder.'];
      error('piece.file', message, why, ['file']);
    }
    return null;
  }
}

const sayProblem = (name: string, problem: unknown): string =>
  `The file "${name}" cannot be read: ${printable(problem instanceof Error ? (problem.message.split('\n')[0] ?? '') : String(problem))}.`;

const sayExtent = ({ defined }: Image, base: number): string => {
  const [first, last] = [defined.indexOf(1), defined.lastIndexOf(1)];
  return first < 0 ? 'nowhere' : `from ${sayAddress(first + base)} to ${sayAddress(last + base)}`;
};

export const sayAddress = (address: number): string => `0x${address.toString(16).toUpperCase().padStart(4, '0')}`;

/** These cells of an image, cut behind the last that is defined; null where none is. */
function takePart(image: Image, part: Range | null): Image | null {
  const [from, end] = part === null ? [0, image.bytes.length] : [part.from, part.to + 1];
  const defined = image.defined.slice(from, end);
  const length = defined.lastIndexOf(1) + 1;
  if (length === 0) return null;
  return { name: image.name, bytes: image.bytes.slice(from, from + length), defined: defined.slice(0, length) };
}
