// The book as text: one line a job; and of one chip what it should hold and how far it is worn.
import { parts } from '../chip/chip-table.js';
import { printable } from '../ground/byte-text.js';
import { type BookEntry, type BookImage, type FormerBookImage, isAmong, rangesOnce } from '../job/book.js';
import type { CutOffBurn } from '../job/cut-off.js';
import { columns } from './columns.js';
import { addressText, countOf } from './quantity.js';

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

/** The image's digest, as other programs would say it; lines from before have none of that kind. */
const digestText = (image: BookImage | FormerBookImage): string =>
  'sha256' in image ? ` (SHA-256 ${printable(image.sha256).slice(0, 16)}...)` : '';

const entryRow = (e: BookEntry): string[] => [
  e.time,
  e.command,
  e.label ?? '-',
  e.chip,
  e.image?.name ?? '-',
  pagesText(e),
  String(e.skipped),
  String(e.retries),
  e.result,
];

const cutOffRow = (c: CutOffBurn): string[] => [
  c.time,
  c.command,
  c.label ?? '-',
  c.chip,
  c.image,
  `at most ${pagesText(c)}`,
  '-',
  '-',
  'cut off',
];

/** What is known of a burn without an end, in a sentence. */
function cutOffText(c: CutOffBurn): string {
  const unit = c.pageBytes === 1 ? 'cells' : 'pages';
  const chip = c.label === null ? c.chip : `${c.label} (${c.chip})`;
  const back =
    c.keptId === null
      ? 'What was there before was not kept, as asked.'
      : `"romkiln restore ${c.keptId}" brings back what was there before.`;
  return `Cut off, or still at work: ${c.command === 'rig' ? 'the rig check with' : `the ${c.command} of ${c.image} into`} ${chip} on ${c.port}, begun ${c.time}. It may have written ${unit} ${pagesText(c)} at most. ${back}`;
}

/** All that a burn that was cut off may have written was burned to an end since: the chip is known by its label, or without one by port and part. */
const isBurnedSince = (c: CutOffBurn, entries: readonly BookEntry[]): boolean =>
  entries.some(
    (e) =>
      isBurn(e) &&
      e.result === 'verified' &&
      e.time > c.time &&
      (e.verified === undefined || isAmong(c.pages, e.verified)) &&
      e.label === c.label &&
      (c.label !== null || (e.writer.port === c.port && e.chip === c.chip)),
  );

/** All jobs in the order of time, then a sentence for each that was cut off and leaves a chip in doubt. */
export function bookText(entries: readonly BookEntry[], cutOff: readonly CutOffBurn[]): string {
  if (entries.length + cutOff.length === 0) return 'The book has no line for this yet.\n';
  const rows = [...entries.map(entryRow), ...cutOff.map(cutOffRow)]
    .map((row) => row.map(printable))
    .sort((a, b) => (a[0]! < b[0]! ? -1 : a[0]! > b[0]! ? 1 : 0));
  const heading = ['time (UTC)', 'command', 'label', 'chip', 'image', 'written', 'skipped', 'resent', 'result'];
  const inDoubt = cutOff.filter((c) => !isBurnedSince(c, entries));
  return columns(heading, rows) + inDoubt.map((c) => `${printable(cutOffText(c))}\n`).join('');
}

const burning = ['burn', 'restore', 'erase'];
const isBurn = (e: BookEntry): boolean => e.image !== null && burning.includes(e.command);

/** A rig check that did not leave the chip as it was. */
const leavesDoubt = /not put back$|^broken off$/;

const digestOf = (image: BookImage | FormerBookImage): string => ('sha256' in image ? image.sha256 : image.digest);

/** A verify after the burn that did not find what was burned. What one of another image found counts only where that of this one is missing. */
function laterVerifyText(burned: BookImage | FormerBookImage, later: readonly BookEntry[]): string {
  const isBurned = (e: BookEntry): boolean => e.image !== null && digestOf(e.image) === digestOf(burned);
  const verifies = later.filter((e) => e.command === 'verify' && e.image !== null);
  const told = verifies.findLast(isBurned) ?? verifies.at(-1);
  if (!told || !/differs?$/.test(told.result)) return '';
  const of = isBurned(told) ? 'of it' : `of another image, ${printable(told.image!.name)},`;
  return `A verify ${of} at ${printable(told.time)} found that ${printable(told.result)}.\n`;
}

function holdsText(name: string, entries: readonly BookEntry[], cutOff: readonly CutOffBurn[]): string {
  const last = entries.findLast(isBurn);
  const cut = cutOff.at(-1);
  if (cut && (!last || cut.time > last.time))
    return `${name}: ${cut.command === 'rig' ? 'a rig check' : `the last burn, of ${printable(cut.image)}`}, begun ${printable(cut.time)}, was cut off or is still at work; what it holds is not known.\n`;
  if (!last) return `${name}: no burn in the book, so what it should hold is not known.\n`;
  const rig = entries.slice(entries.indexOf(last)).findLast((e) => e.command === 'rig' && leavesDoubt.test(e.result));
  if (rig)
    return `${name}: a rig check at ${printable(rig.time)} ended ${printable(rig.result)}; what it holds is not known.\n`;
  const image = printable(last.image!.name);
  if (last.result !== 'verified')
    return `${name}: the last burn, of ${image} at ${printable(last.time)}, ended ${printable(last.result)}; what it holds is not known.\n`;
  const whole = `0-${cellsOf(last) / last.pageBytes - 1}`;
  const verified =
    last.verified !== undefined && !isAmong(whole, last.verified)
      ? `${name} should hold ${image} in ${last.pageBytes === 1 ? 'cells' : 'pages'} ${pagesText({ ...last, pages: last.verified })}, verified ${printable(last.time)}; nothing else was asked for then.\n`
      : `${name} should hold ${image}${digestText(last.image!)}, verified ${printable(last.time)}.\n`;
  return verified + laterVerifyText(last.image!, entries.slice(entries.indexOf(last)));
}

/** What the last good burn left in the chip of this label, and the wear of its most-written page at most. */
export function labelText(
  label: string,
  entries: readonly BookEntry[],
  cutOff: readonly CutOffBurn[],
  most: { readonly page: number; readonly times: number } | null,
  endurance: number,
): string {
  const holds = holdsText(printable(label), entries, cutOff);
  // Every job that wrote: the rig check wears a chip too.
  const jobs = [...entries.filter((e) => e.pages !== ''), ...cutOff];
  const [one] = jobs;
  if (!most || !one) return entries.some(isBurn) ? `${holds}No page was written.\n` : holds;
  const unit = one.pageBytes === 1 ? 'cell' : 'page';
  const times = `${cutOff.length > 0 ? 'at most ' : ''}${countOf(most.times, 'time')}`;
  // Of those that wrote, a burn is what burns; the rig check is a job.
  const noun = jobs.every(({ command }) => burning.includes(command)) ? 'burn' : 'job';
  return `${holds}Its most-written ${unit}, ${numberText(most.page, one)}, was written ${times} in ${countOf(jobs.length, noun)}; the part is specified for ${endurance.toLocaleString('en-US')}.\n`;
}

/** Where a label stands for other parts beside the last one. */
export const otherPartsText = (label: string, chip: string, others: readonly string[]): string =>
  `${printable(label)} is the label of jobs with ${others.map(printable).join(', ')} as well; this is said of ${printable(chip)} alone.\n`;
