// romkiln book: every job so far; with --label what one chip should hold and how far it is worn.
import { findPart, parts } from '../chip/chip-table.js';
import { type BookEntry, mostWritten } from '../job/book.js';
import { cutOffBurns } from '../job/cut-off.js';
import { bookText, labelText, otherPartsText } from '../report/book-text.js';
import { bookOf, bookPath, keepOf } from './book-keeping.js';
import { type Execute, flagOption, textOption } from './command.js';

type Job = Pick<BookEntry, 'time' | 'command' | 'chip' | 'pageBytes'>;

const onlyReads = ({ command }: Job): boolean => command === 'verify' || command === 'dump';

/** The last job that was to write; where none was, the last one. */
function lastOf(jobs: readonly Job[]): Job | null {
  const writing = jobs.filter((job) => !onlyReads(job));
  const among = writing.length > 0 ? writing : jobs;
  return among.reduce<Job | null>((last, job) => (last === null || job.time >= last.time ? job : last), null);
}

const membersNamed = (chip: string): readonly string[] => parts.find((p) => p.name === chip)?.members ?? [chip];

/** One label on two parts is two chips, and their pages have nothing in common; but a family's name may stand for the part. */
const mayBeOne = (a: Job, b: Job): boolean =>
  a.chip === b.chip ||
  (a.pageBytes === b.pageBytes && membersNamed(a.chip).some((name) => membersNamed(b.chip).includes(name)));

export const execute: Execute = async ({ world, options, command }) => {
  const path = bookPath(world);
  const read = bookOf(world);
  for (const { line, column } of read.damaged)
    world.stderr.write(
      `${path}:${line}:${column}: this line of the book cannot be read; the others are used. A burn whose line it was is told as cut off.\n`,
    );
  const label = textOption(options, 'label');
  const asked = (job: { readonly label: string | null }): boolean => label === null || job.label === label;
  const entries = read.entries.filter(asked);
  const cutOff = cutOffBurns(keepOf(world).list().records, read.entries).filter(asked);
  const jobs = [...entries, ...cutOff];
  const meant = label === null ? null : lastOf(jobs);
  const isMeant = (job: Job): boolean => meant === null || mayBeOne(job, meant);
  // What a burn may have written at most counts: a chip is rather taken for worn than for new.
  const most = mostWritten(jobs.filter(isMeant));
  if (flagOption(options, 'json')) {
    const facts = {
      command,
      label,
      entries,
      cutOff,
      damaged: read.damaged,
      chip: meant?.chip ?? null,
      mostWritten: most,
    };
    world.stdout.write(`${JSON.stringify(facts)}\n`);
    return 0;
  }
  world.stdout.write(bookText(entries, cutOff));
  if (label !== null) {
    const endurance = meant ? findPart(meant.chip).endurance.value : 0;
    world.stdout.write(labelText(label, entries.filter(isMeant), cutOff.filter(isMeant), most, endurance));
    const others = new Set(jobs.filter((job) => !isMeant(job)).map((job) => job.chip));
    if (meant && others.size > 0) world.stdout.write(otherPartsText(label, meant.chip, [...others]));
  }
  return 0;
};
