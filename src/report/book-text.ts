// The book as text: one line a job; and of one chip what it should hold and how far it is worn.
import { parts } from '../chip/chip-table.js';
import { printable } from '../ground/byte-text.js';
import type { BookEntry, BookImage, BookRead } from '../job/book.js';
import { type ChipHistory, type Content, isBurn, type LaterVerify } from '../job/chip-history.js';
import type { CutOff } from '../job/cut-off.js';
import type { Outcome } from '../job/outcome.js';
import { rangesOnce } from '../job/page-list.js';
import { columns } from './columns.js';
import { addressText, countOf, groupedText, timeOfDay } from './quantity.js';

/** As many ranges as a column has room for; --json has all. */
const pagesWidth = 24;

type Pages = Pick<BookEntry, 'pages' | 'pageBytes' | 'chip'>;

/** 0 where a line names a part that is not known. */
const cellsOf = ({ chip }: Pick<Pages, 'chip'>): number => parts.find((p) => p.name === chip)?.cells ?? 0;

/** A page by its number, decimal; a cell of a chip without page mode by its address. */
const numberText = (number: number, of: Pages): string =>
  of.pageBytes === 1 ? addressText(number, cellsOf(of)) : String(number);

/** Every page once: how often it was written counts for the wear, and stands in --json. */
function pagesText(of: Pages): string {
  const ranges = rangesOnce(of.pages);
  const dash = of.pageBytes === 1 ? '..' : '-';
  const texts = ranges.map(({ from, to }) =>
    from === to ? numberText(from, of) : `${numberText(from, of)}${dash}${numberText(to, of)}`,
  );
  const whole = texts.join(',');
  if (whole.length <= pagesWidth) return whole || '-';
  const count = ranges.reduce((sum, { from, to }) => sum + to - from + 1, 0);
  const more = `,... (${count})`;
  const end = whole.lastIndexOf(',', pagesWidth - more.length);
  return `${end > 0 ? whole.slice(0, end) : texts[0]}${more}`;
}

const digestText = ({ sha256 }: BookImage): string => ` (SHA-256 ${printable(sha256).slice(0, 16)}...)`;

const cellsText = (count: number): string => countOf(count, 'cell');
const differText = (bytes: number): string => `${countOf(bytes, 'byte')} ${bytes === 1 ? 'differs' : 'differ'}`;

/** How a job ended, in the words of the table. */
function outcomeText(outcome: Outcome): string {
  switch (outcome.kind) {
    case 'not-verified':
      return 'not verified';
    case 'broken-off':
      return outcome.putBack ? 'broken off, put back' : 'broken off';
    case 'put-back':
      return outcome.sound ? 'put back' : 'faults found, put back';
    case 'not-put-back':
      return `${cellsText(outcome.cells)} not put back`;
    case 'refused':
      return 'refused writes';
    case 'nothing-written':
      return 'nothing written';
    case 'codes-sent':
      return outcome.changed === 0 ? 'codes sent' : `codes sent, ${countOf(outcome.changed, 'byte')} changed`;
    case 'differs':
      return differText(outcome.bytes);
    case 'dumped':
      return `dumped to ${outcome.file}`;
    default:
      return outcome.kind;
  }
}

const entryRow = (e: BookEntry): string[] => [
  timeOfDay(e.time),
  e.command,
  e.label ?? '-',
  e.chip,
  e.image?.name ?? '-',
  pagesText(e),
  String(e.skipped),
  String(e.retries),
  outcomeText(e.outcome),
];

const cutOffRow = (c: CutOff): string[] => [
  timeOfDay(c.time),
  c.command,
  c.label ?? '-',
  c.chip,
  c.image,
  `at most ${pagesText(c)}`,
  '-',
  '-',
  'cut off',
];

/** What was being done, by its command; a burn of any kind names its image. */
const workText: Readonly<Record<string, string>> = {
  rig: 'the rig check with',
  conform: 'the conformance check with',
  protect: 'switching protection on in',
  unprotect: 'switching protection off in',
};
const doingText = ({ command, image }: CutOff): string => workText[command] ?? `the ${command} of ${image} into`;

/** What is known of a writing without an end, in a sentence. */
function cutOffText(c: CutOff): string {
  const unit = c.pageBytes === 1 ? 'cells' : 'pages';
  const chip = c.label === null ? c.chip : `${c.label} (${c.chip})`;
  const back =
    c.keptId === null
      ? 'The old contents were not kept, as asked.'
      : `"romkiln restore ${c.keptId}" writes the old contents back.`;
  const end = c.label === null ? ` "romkiln book --settle ${c.id}" clears this note.` : '';
  return `Cut off, or still running: ${doingText(c)} ${chip} on ${c.port}, begun ${timeOfDay(c.time)}. It wrote ${unit} ${pagesText(c)} at most. ${back}${end}`;
}

/** All jobs in the order of time, then a sentence for each that was cut off and leaves a chip in doubt. */
export function bookText(entries: readonly BookEntry[], cutOff: readonly CutOff[]): string {
  if (entries.length + cutOff.length === 0) return 'The book has no entry for this yet.\n';
  const timed = [
    ...entries.map((e) => ({ time: e.time, row: entryRow(e) })),
    ...cutOff.map((c) => ({ time: c.time, row: cutOffRow(c) })),
  ].sort((a, b) => (a.time < b.time ? -1 : a.time > b.time ? 1 : 0));
  const rows = timed.map(({ row }) => row.map(printable));
  const heading = ['time (UTC)', 'command', 'label', 'chip', 'image', 'written', 'unchanged', 'sent again', 'result'];
  const open = cutOff.filter((c) => c.isOpen);
  return columns(heading, rows) + open.map((c) => `${printable(cutOffText(c))}\n`).join('');
}

/** So many damaged lines are named; of more only the number is said. */
const damagedShown = 8;

/** What of the book could not be read; empty where all of it was. */
export function damagedBookText(path: string, { damaged, since }: BookRead): string {
  const lines = damaged
    .slice(0, damagedShown)
    .map(
      ({ line, column }) =>
        `${path}:${line}:${column}: this line of the book cannot be read; the others are used. A job whose line is lost is listed as cut off.\n`,
    );
  const more = damaged.length - damagedShown;
  const rest = more > 0 ? `${path}: ${more} more lines cannot be read.\n` : '';
  const cut =
    since === null ? '' : `${path} is too long to read whole; this begins at ${printable(timeOfDay(since))}.\n`;
  return cut + lines.join('') + rest;
}

export const settledText = (c: CutOff): string =>
  `Settled: ${printable(`${doingText(c)} ${c.label === null ? c.chip : `${c.label} (${c.chip})`}, begun ${timeOfDay(c.time)}`)}.\n`;

function laterVerifyText({ verify, ofBurned }: LaterVerify): string {
  const of = ofBurned ? 'of it' : `of another image, ${printable(verify.image!.name)},`;
  return `A later verify ${of} at ${printable(timeOfDay(verify.time))} found that ${outcomeText(verify.outcome)}.\n`;
}

/** A writing by its command, with its article, as the last that a chip saw. */
const byText: Readonly<Record<string, string>> = {
  rig: 'a rig check',
  conform: 'a conformance check',
  protect: 'protection codes',
  unprotect: 'protection codes',
};

function contentText(name: string, content: Content): string {
  switch (content.kind) {
    case 'never-burned':
      return `${name}: no burn in the book, so its contents are unknown.\n`;
    case 'cut-off': {
      const { command, image, time, isOpen } = content.by;
      const end = isOpen ? 'was cut off or is still running' : 'was cut off';
      return `${name}: ${byText[command] ?? `the last burn, of ${printable(image)}`}, begun ${printable(timeOfDay(time))}, ${end}; its contents are unknown.\n`;
    }
    case 'unknown': {
      const { command, image, time, outcome } = content.by;
      const by = image
        ? `the last burn, of ${printable(image.name)} at`
        : `${byText[command] ?? printable(command)} at`;
      return `${name}: ${by} ${printable(timeOfDay(time))}${image ? ',' : ''} ended ${printable(outcomeText(outcome))}; its contents are unknown.\n`;
    }
    case 'known': {
      const { burn, whole, pages, later } = content;
      const image = printable(burn.image!.name);
      const unit = burn.pageBytes === 1 ? 'cells' : 'pages';
      const held = whole
        ? `${image}${digestText(burn.image!)}, verified ${printable(timeOfDay(burn.time))}`
        : `${image} in ${unit} ${pagesText({ ...burn, pages })}, verified ${printable(timeOfDay(burn.time))}; that burn covered nothing else`;
      return `${name} should hold ${held}.\n${later ? laterVerifyText(later) : ''}`;
    }
  }
}

/** What the last good burn left in the chip of this label, and the wear of its most-written page at most. */
export function historyText(label: string, history: ChipHistory, endurance: number): string {
  const { entries, cutOff, content, mostWritten: most, chip, others } = history;
  const holds = contentText(printable(label), content);
  // Every job that wrote: a check wears a chip too.
  const jobs = [...entries.filter((e) => e.pages !== ''), ...cutOff];
  const [one] = jobs;
  const apart =
    chip !== null && others.length > 0
      ? `${printable(label)} also labels jobs with ${others.map(printable).join(', ')}; this is about ${printable(chip)} alone.\n`
      : '';
  if (!most || !one) return `${holds}${entries.some(isBurn) ? 'No page was written.\n' : ''}${apart}`;
  const unit = one.pageBytes === 1 ? 'cell' : 'page';
  const times = `${cutOff.length > 0 ? 'at most ' : ''}${countOf(most.times, 'time')}`;
  // Of those that wrote, a burn is what burns; a check is a job.
  const noun = jobs.every((job) => ('outcome' in job ? isBurn(job) : !(job.command in byText))) ? 'burn' : 'job';
  return `${holds}Its most-written ${unit}, ${numberText(most.page, one)}, was written ${times} in ${countOf(jobs.length, noun)}; the part is specified for ${groupedText(endurance)} cycles.\n${apart}`;
}
