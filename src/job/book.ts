// The book: one line for every burn, verify, dump, restore and rig check (JSON Lines), so that a chip's history adds up page by page.
import type { Files } from '../ground/files.js';
import { joinRanges, type Range } from '../image/range.js';

/** What was burned, compared or read. */
export interface BookImage {
  readonly name: string;
  /** Of the whole chip's cells as a raw binary file holds them, FF where the image says nothing: the same that `build` says. */
  readonly sha256: string;
}

/** As lines had it before: a number that nothing else shows, of bytes and definitions together. */
export interface FormerBookImage {
  readonly name: string;
  readonly digest: string;
}

export interface BookEntry {
  /** ISO 8601, UTC. */
  readonly time: string;
  readonly command: string;
  readonly label: string | null;
  readonly chip: string;
  readonly image: BookImage | FormerBookImage | null;
  readonly writer: { readonly port: string; readonly build: string };
  /** Pages written, as ranges of page numbers: "0-5,7", each as often as it was written; cells where the chip has no page mode. */
  readonly pages: string;
  readonly pageBytes: number;
  readonly skipped: number;
  readonly retries: number;
  readonly result: string;
  readonly exit: number;
  readonly proven: string;
  /** Of a burn that was verified: the pages (cells) of which its image said anything in the range asked for, as in `pages`. Lines from before have none. */
  readonly verified?: string;
  /** Of a burn that had something to write: the record that was made of it before the first write. Lines from before have none. */
  readonly record?: string;
}

export interface BookRead {
  readonly entries: readonly BookEntry[];
  /** Lines (from 1) that could not be read, with the column where reading stopped; the other lines are still used. */
  readonly damaged: readonly { readonly line: number; readonly column: number }[];
}

/** `[0,1,2,5]` as "0-2,5", and `[0,1,2,1]` as "0-2,1": what was written several times stands there as often. */
export function rangesText(numbers: readonly number[]): string {
  const texts: string[] = [];
  let left = [...numbers].sort((a, b) => a - b);
  while (left.length > 0) {
    const once = left.filter((n, i) => n !== left[i - 1]);
    const ranges = joinRanges(once.map((n) => ({ from: n, to: n })));
    texts.push(...ranges.map(({ from, to }) => (from === to ? `${from}` : `${from}-${to}`)));
    left = left.filter((n, i) => n === left[i - 1]);
  }
  return texts.join(',');
}

/** The ranges of "0-2,5" as pairs, inclusive. */
export const rangesOf = (text: string): [number, number][] =>
  text === ''
    ? []
    : text.split(',').map((part) => {
        const [a = 0, b = a] = part.split('-').map(Number);
        return [a, b];
      });

/** The same with every page once, however often it was written. */
export const rangesOnce = (text: string): Range[] =>
  joinRanges(
    rangesOf(text)
      .map(([from, to]) => ({ from, to }))
      .sort((a, b) => a.from - b.from),
  );

/** Every page of `pages` is one of `others`, both as in the book. */
export const isAmong = (pages: string, others: string): boolean => {
  const joined = rangesOnce(others);
  return rangesOf(pages).every(([from, to]) => joined.some((r) => r.from <= from && to <= r.to));
};

const lineEnd = 0x0a;

/** Adds one line. A line that a crash cut off is ended first, so that it spoils only itself. */
export function addToBook(files: Files, path: string, entry: BookEntry): void {
  const before = files.readIfThere(path);
  const torn = before !== null && before.length > 0 && before.at(-1) !== lineEnd;
  files.append(path, `${torn ? '\n' : ''}${JSON.stringify(entry)}\n`);
}

const hasTexts = (value: unknown, names: readonly string[]): boolean =>
  typeof value === 'object' &&
  value !== null &&
  names.every((name) => typeof (value as Record<string, unknown>)[name] === 'string');

const isRanges = (value: unknown): boolean => typeof value === 'string' && /^(\d+(-\d+)?(,\d+(-\d+)?)*)?$/.test(value);

const isEntry = (value: unknown): value is BookEntry => {
  if (!hasTexts(value, ['time', 'command', 'chip', 'pages', 'result', 'proven'])) return false;
  const e = value as Record<keyof BookEntry, unknown>;
  return (
    (['pageBytes', 'skipped', 'retries', 'exit'] as const).every((name) => Number.isSafeInteger(e[name])) &&
    (e.label === null || typeof e.label === 'string') &&
    (e.image === null || hasTexts(e.image, ['name', 'sha256']) || hasTexts(e.image, ['name', 'digest'])) &&
    hasTexts(e.writer, ['port', 'build']) &&
    (e.record === undefined || typeof e.record === 'string') &&
    isRanges(e.pages) &&
    (e.verified === undefined || isRanges(e.verified))
  );
};

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

export function readBook(files: Files, path: string): BookRead {
  const entries: BookEntry[] = [];
  const damaged: { line: number; column: number }[] = [];
  let number = 0;
  for (const line of linesIn(files.readIfThere(path) ?? new Uint8Array())) {
    number += 1;
    if (line.trim() === '') continue;
    let value: unknown;
    try {
      value = JSON.parse(line);
    } catch {
      value = null;
    }
    if (isEntry(value)) entries.push(value);
    else damaged.push({ line: number, column: 1 });
  }
  return { entries, damaged };
}

/** How often the most-written page was written, and which one it is; counted from every burn in the list. */
export function mostWritten(
  entries: readonly Pick<BookEntry, 'pages'>[],
): { readonly page: number; readonly times: number } | null {
  // Each range is a step up at its start and a step down behind its end; walking the steps in order finds the highest place.
  const steps = new Map<number, number>();
  for (const [from, to] of entries.flatMap((e) => rangesOf(e.pages))) {
    steps.set(from, (steps.get(from) ?? 0) + 1);
    steps.set(to + 1, (steps.get(to + 1) ?? 0) - 1);
  }
  let times = 0;
  let best: { page: number; times: number } | null = null;
  for (const [page, step] of [...steps].sort((a, b) => a[0] - b[0])) {
    times += step;
    if (times > (best?.times ?? 0)) best = { page, times };
  }
  return best;
}
