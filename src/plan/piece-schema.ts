// The form of contents `pieces` in a plan file.
import * as v from 'valibot';
import { publishedSums, type SumName, sumNames } from '../ground/published-sums.js';
import { imageFormats } from '../image/image-format.js';
import { aboutSchema, nameSchema, wholeNumber } from './schema-words.js';

const mostPieces = 256;
/** The bytes of one word: more than eight chips side by side nobody wires. */
const mostLanes = 8;

const place = wholeNumber(0, 2 ** 32 - 1, 'an address, e.g. 0x1F00');
const stretch = v.union([v.string(), v.number()], 'addresses, e.g. 0x100..0x1FF');

const sumWords = sumNames as [SumName, ...SumName[]];
const printableAscii = /^[\x20-\x7e]+$/;

/** Each piece is one of `file`, `bytes`, `text` and `sum`; which keys go together is judged where it is laid out. */
const pieceSchema = v.strictObject({
  about: aboutSchema,
  at: v.optional(place),
  file: v.optional(
    v.pipe(v.string('the name of a file beside the plan'), v.minLength(1, 'the name of a file beside the plan')),
  ),
  format: v.optional(v.picklist(imageFormats, `one of ${imageFormats.join(', ')}`)),
  part: v.optional(stretch),
  bytes: v.optional(
    v.pipe(v.array(wholeNumber(0, 255)), v.minLength(1, 'at least one byte'), v.maxLength(4096, 'at most 4096 bytes')),
  ),
  text: v.optional(
    v.pipe(v.string('a text'), v.regex(printableAscii, 'a text of ASCII characters, each of which is one byte')),
  ),
  sum: v.optional(v.picklist(sumWords, `one of ${sumNames.join(', ')}`)),
  of: v.optional(v.union([stretch, v.array(stretch)], 'addresses, e.g. 0x0..0x1FFD, or a list of such ranges')),
  order: v.optional(v.picklist(['low-first', 'high-first'], 'low-first or high-first')),
});

export const piecesSchema = v.strictObject({
  kind: v.literal('pieces'),
  about: aboutSchema,
  address: nameSchema,
  /** The bytes of a word, in the order in which they follow each other in the files. */
  outputs: v.optional(
    v.pipe(
      v.array(nameSchema),
      v.minLength(1, 'the names of the bytes of a word, e.g. [low, high]'),
      v.maxLength(mostLanes, `at most ${mostLanes} bytes of a word`),
      v.checkItems(
        (name, index, all) => all.indexOf(name) === index,
        'another name: every byte of a word is named once',
      ),
    ),
    ['byte'],
  ),
  pieces: v.pipe(
    v.array(pieceSchema),
    v.minLength(1, 'at least one piece'),
    v.maxLength(mostPieces, `at most ${mostPieces} pieces`),
  ),
  fill: v.optional(wholeNumber(0, 255, 'a byte from 0 to 0xFF')),
});

export type WrittenPiece = v.InferOutput<typeof pieceSchema>;
export type WrittenPieces = v.InferOutput<typeof piecesSchema>;
/** As it is written in a plan. */
export type PiecesInput = v.InferInput<typeof piecesSchema>;

export const widthOfSum = (name: SumName): number => publishedSums[name].width;
