// The book: one line for every job that read or wrote a chip (JSON Lines), so that a chip's history adds up page by page.
import * as v from 'valibot';
import type { Files } from '../ground/files.js';
import { countSchema, outcomeSchema, pagesSchema } from './outcome.js';

const entrySchema = v.object({
  /** ISO 8601, UTC. */
  time: v.pipe(v.string(), v.isoTimestamp()),
  command: v.string(),
  label: v.nullable(v.string()),
  chip: v.string(),
  /**
   * What was burned, compared or read. The digest is of the whole chip's cells as a raw binary file holds them, FF where the
   * image says nothing: the same that `build` says.
   */
  image: v.nullable(v.object({ name: v.string(), sha256: v.string() })),
  writer: v.object({ port: v.string(), build: v.string() }),
  /** Pages written: "0-5,7", each as often as it was written; cells where the chip has no page mode. */
  pages: pagesSchema,
  pageBytes: v.pipe(countSchema, v.minValue(1)),
  skipped: countSchema,
  retries: countSchema,
  outcome: outcomeSchema,
  exit: countSchema,
  /** Of a job that wrote: the record that was made of it before the first write. */
  record: v.optional(v.string()),
  /** Of a restore: the record whose bytes it burned. */
  restores: v.optional(v.string()),
});

/** Somebody said that a writing that was cut off is dealt with. */
const settlementSchema = v.object({ time: v.pipe(v.string(), v.isoTimestamp()), settles: v.string() });

const lineSchema = v.union([entrySchema, settlementSchema]);

export type BookEntry = v.InferOutput<typeof entrySchema>;
export type BookImage = NonNullable<BookEntry['image']>;
export type Settlement = v.InferOutput<typeof settlementSchema>;

export interface BookRead {
  readonly entries: readonly BookEntry[];
  /** Ids of the records that were settled by hand. */
  readonly settled: ReadonlySet<string>;
  /** Lines (from 1, of what was read) that could not be read, with the column where reading stopped; the other lines are still used. */
  readonly damaged: readonly { readonly line: number; readonly column: number }[];
  /** A book too long to be read as a whole was read from here on; null where all of it was read. */
  readonly since: string | null;
}

export interface Book {
  readonly path: string;
  /** Throws where the book takes no line; called before the first write, which could not be entered then. */
  check(): void;
  /** Adds one line. A line that a crash cut off is ended first, so that it spoils only itself. */
  add(line: BookEntry | Settlement): void;
  read(): BookRead;
}

const lineEnd = 0x0a;
/** Of a longer book the last part is read: many ten thousand jobs. */
export const bookReadBytes = 32 * 2 ** 20;

/** The lines of a text one after the other: a book of many years is never held a second time as one text. */
function* linesIn(bytes: Uint8Array): Generator<string> {
  const text = Buffer.from(bytes.buffer, bytes.byteOffset, bytes.length);
  for (let from = 0; from <= text.length; ) {
    const found = text.indexOf(lineEnd, from);
    const to = found < 0 ? text.length : found;
    yield text.toString('utf8', from, to);
    from = to + 1;
  }
}

function lineOf(text: string): BookEntry | Settlement | null {
  try {
    const parsed = v.safeParse(lineSchema, JSON.parse(text));
    return parsed.success ? parsed.output : null;
  } catch {
    return null;
  }
}

/** The book in a file of a folder. Adding a line reads nothing but the last byte, however long the book is. */
export function openBook(files: Files, folder: string): Book {
  const path = `${folder}/book.jsonl`;
  return {
    path,
    check() {
      files.makeFolder(folder);
      files.append(path, '');
    },
    add(line) {
      files.makeFolder(folder);
      const last = files.readEnd(path, 1)?.bytes[0] ?? lineEnd;
      files.append(path, `${last === lineEnd ? '' : '\n'}${JSON.stringify(line)}\n`);
    },
    read() {
      const entries: BookEntry[] = [];
      const settled = new Set<string>();
      const damaged: { line: number; column: number }[] = [];
      const { bytes, isWhole } = files.readEnd(path, bookReadBytes) ?? { bytes: new Uint8Array(), isWhole: true };
      // Where the front is left out the first line is half a line.
      const start = isWhole ? 0 : bytes.indexOf(lineEnd) + 1;
      let number = 0;
      for (const text of linesIn(bytes.subarray(start))) {
        number += 1;
        if (text.trim() === '') continue;
        const line = lineOf(text);
        if (line === null) damaged.push({ line: number, column: 1 });
        else if ('settles' in line) settled.add(line.settles);
        else entries.push(line);
      }
      return { entries, settled, damaged, since: isWhole ? null : (entries[0]?.time ?? null) };
    },
  };
}
