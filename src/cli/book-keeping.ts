// The keep and the book of this user, and the lines that a job adds to the book.
import type { Part } from '../chip/part.js';
import { ToolError } from '../ground/errors.js';
import type { Image } from '../image/image.js';
import { sha256Of } from '../image/image-sums.js';
import type { Range } from '../image/range.js';
import { blocksOf } from '../job/blocks.js';
import { addToBook, type BookEntry, type BookRead, rangesText, readBook } from '../job/book.js';
import type { PlannedWrite } from '../job/burn-plan.js';
import { type Keep, openKeep } from '../job/keep.js';
import { type Invocation, textOption } from './command.js';
import { dataFiles } from './data-files.js';
import { sayErrors } from './error-text.js';
import type { ChipSession } from './session.js';
import type { World } from './world.js';

export const keepOf = (world: World): Keep => openKeep(dataFiles(world.files), `${world.dataFolder}/keep`);
export const bookPath = (world: World): string => `${world.dataFolder}/book.jsonl`;
export const bookOf = (world: World): BookRead => readBook(dataFiles(world.files), bookPath(world));

/** The pages (cells where there is no page mode) that were written. */
export const pagesWritten = (part: Part, blocks: readonly PlannedWrite[]): string => {
  const page = part.pageBytes.value;
  return rangesText(blocks.flatMap((b) => (page === 1 ? b.changes : [Math.floor(b.address / page)])));
};

/** The pages (cells) of which the image says anything in the range. */
const pagesAsked = (part: Part, image: Image, range: Range): string => {
  const page = part.pageBytes.value;
  return rangesText(blocksOf(image, range, page).map((b) => b.address / page));
};

export interface JobResult {
  readonly image: Image | null;
  readonly blocksWritten?: readonly PlannedWrite[];
  /** In place of blocks: the page (the cell) of each write cycle. */
  readonly cycles?: readonly number[];
  readonly skipped?: number;
  /** The range of a burn that was verified. */
  readonly verified?: Range | null;
  readonly result: string;
  readonly exit: number;
  readonly proven: string;
  /** The record of a burn, where one was made. */
  readonly record?: string | null;
}

/** Throws cli.data-folder where the book takes no line; called before the first write, which could not be entered then. */
export function checkBook(world: World): void {
  const files = dataFiles(world.files);
  files.makeFolder(world.dataFolder);
  files.append(bookPath(world), '');
}

/** Adds the line of one job. Where that fails now it is said, and the job's own end stays what it is: what it found out about the chip is worth more. */
export function enterInBook(invocation: Invocation, session: ChipSession, job: JobResult): void {
  const { world, command, options } = invocation;
  const entry: BookEntry = {
    time: world.wallTime().toISOString(),
    command,
    label: textOption(options, 'label'),
    chip: session.part.name,
    image: job.image && { name: job.image.name, sha256: sha256Of(job.image) },
    writer: { port: session.port.path, build: session.writer.introduction.build },
    pages: job.cycles ? rangesText(job.cycles) : pagesWritten(session.part, job.blocksWritten ?? []),
    pageBytes: session.part.pageBytes.value,
    skipped: job.skipped ?? 0,
    retries: session.writer.counts.resent,
    result: job.result,
    exit: job.exit,
    proven: job.proven,
    ...(job.image && job.verified && { verified: pagesAsked(session.part, job.image, job.verified) }),
    ...(job.record && { record: job.record }),
  };
  try {
    world.files.makeFolder(world.dataFolder);
    addToBook(world.files, bookPath(world), entry);
  } catch (error) {
    if (!ToolError.is(error, 'cli.file-unwritable') && !ToolError.is(error, 'cli.file-unreadable')) throw error;
    session.progress.end();
    sayErrors(new ToolError('job.book-line-missing', error.facts), world, { json: false, command });
  }
}
