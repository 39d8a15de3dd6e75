// The one path by which anything writes a chip: what is there goes to the keep with a note of what is about to happen, then
// the writing runs, and its end goes into the book. A writing that is killed leaves the note, which the book then tells.
import type { Part } from '../chip/part.js';
import { ToolError } from '../ground/errors.js';
import type { Files } from '../ground/files.js';
import type { Image } from '../image/image.js';
import { sha256Of } from '../image/image-sums.js';
import type { Run } from './blocks.js';
import { type Book, openBook } from './book.js';
import { BrokenOff, type JobEnd } from './broken-off.js';
import { hasBytes, type Keep, type KeptRecord, openKeep } from './keep.js';
import { pagesText } from './page-list.js';
import type { PlannedWrite } from './wanted-cells.js';

/** Where jobs leave their traces. */
export interface Records {
  readonly keep: Keep;
  readonly book: Book;
  /** The time of day. */
  wallTime(): Date;
  /** The book took no line when the job was over. What the job found out about the chip is worth more, so its end stays what it is. */
  onLineMissing(error: ToolError): void;
}

/** Keep and book in a folder. */
export const openRecords = (
  files: Files,
  folder: string,
  { wallTime, onLineMissing }: Pick<Records, 'wallTime' | 'onLineMissing'>,
): Records => ({ keep: openKeep(files, `${folder}/keep`), book: openBook(files, folder), wallTime, onLineMissing });

/** Who does what with which chip, for the book. */
export interface Job {
  readonly command: string;
  readonly label: string | null;
  readonly part: Part;
  readonly writer: { readonly port: string; readonly build: string };
  /** What is burned, compared or read; null where that is no image. */
  readonly image: Image | null;
  /** Of a restore: the record whose bytes are burned. */
  readonly restores?: string;
  /** Lines sent again so far. */
  retries?(): number;
}

export interface WritingJob extends Job {
  /** What the old bytes give way to, in the words of the keep. */
  readonly content: string;
  /** The pages that it may write at most, each as often as it may be written; none where there is nothing to write. */
  readonly pagesAtMost: string;
}

/** What must be at hand before a chip is written: the record of what was there, or the word that nobody wants it. */
export type Kept = KeptRecord | 'discarded';

/** Throws where cells would be overwritten that the record does not hold. */
export function requireKept(kept: Kept, writes: readonly PlannedWrite[]): void {
  if (kept === 'discarded') return;
  const runs = kept?.runs ?? [];
  const isHeld = (cell: number): boolean => runs.some((r) => cell >= r.from && cell < r.from + r.count);
  if (kept === undefined || !writes.every(({ changes }) => changes.every(isHeld)))
    throw new Error('broken promise: a chip is written without a record of what was there');
}

const addFailed = ['cli.data-folder', 'cli.file-unwritable', 'cli.file-unreadable'] as const;

/** Adds the line of one job to the book. */
export function enterJob(records: Records, job: Job, end: JobEnd, record: string | null = null): void {
  const { part, image, command, label, writer, restores } = job;
  try {
    records.book.add({
      time: records.wallTime().toISOString(),
      command,
      label,
      chip: part.name,
      image: image && { name: image.name, sha256: sha256Of(image) },
      writer,
      pages: pagesText(end.cycles),
      pageBytes: part.pageBytes.value,
      skipped: end.skipped ?? 0,
      retries: job.retries?.() ?? 0,
      outcome: end.outcome,
      exit: end.exit,
      ...(record !== null && { record }),
      ...(restores !== undefined && { restores }),
    });
  } catch (error) {
    const failed = addFailed.find((code) => ToolError.is(error, code));
    if (failed === undefined) throw error;
    const { path, reason } = (error as ToolError<'cli.file-unwritable'>).facts;
    records.onLineMissing(new ToolError('job.book-line-missing', { path, reason }));
  }
}

/** Old bytes and note, both on the disk when it returns. Null where nothing is to be written. */
function note(records: Records, job: WritingJob, old: readonly Run[] | 'discarded'): KeptRecord | null {
  if (job.pagesAtMost === '') return null;
  const about = {
    time: records.wallTime().toISOString(),
    chip: job.part.name,
    label: job.label,
    port: job.writer.port,
    image: job.content,
    burn: { command: job.command, pages: job.pagesAtMost, pageBytes: job.part.pageBytes.value },
  };
  try {
    records.book.check();
    return records.keep.store(about, old === 'discarded' ? [] : old);
  } catch (error) {
    // Where nothing has to be kept a full disk stops nothing.
    if (old === 'discarded' && ToolError.is(error, 'cli.data-folder')) return null;
    throw error;
  }
}

/**
 * Keeps `old`, then lets `write` run and enters how it ended. A writing that throws broke off: the book says so, and a
 * BrokenOff goes on to the caller.
 */
export async function recordedWrite<Result>(
  records: Records,
  job: WritingJob,
  old: readonly Run[] | 'discarded',
  write: (kept: Kept, keptId: string | null) => Promise<{ readonly result: Result; readonly end: JobEnd }>,
): Promise<Result> {
  const record = note(records, job, old);
  const keptId = record && hasBytes(record) ? record.id : null;
  const kept = old === 'discarded' || record === null ? 'discarded' : record;
  try {
    const { result, end } = await write(kept, keptId);
    enterJob(records, job, end, record?.id);
    return result;
  } catch (error) {
    const broken = error instanceof BrokenOff ? error : new BrokenOff(error, []);
    broken.keptId = keptId;
    enterJob(records, job, broken.end, record?.id);
    throw broken;
  }
}
