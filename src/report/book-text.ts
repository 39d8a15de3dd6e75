// The book as text: one line a job; and of one chip what it should hold and how far it is worn.
import { printable } from '../ground/byte-text.js';
import { type BookEntry, type BookImage, type FormerBookImage, rangesOf } from '../job/book.js';
import { columns } from './columns.js';
import { countOf } from './quantity.js';

/** As many ranges as a column has room for; --json has all. */
const pagesWidth = 24;

function pagesText(pages: string): string {
  if (pages.length <= pagesWidth) return pages || '-';
  const count = rangesOf(pages).reduce((sum, [from, to]) => sum + to - from + 1, 0);
  const more = `,... (${count})`;
  const end = pages.lastIndexOf(',', pagesWidth - more.length);
  return `${pages.slice(0, end > 0 ? end : pages.indexOf(','))}${more}`;
}

/** The image's digest, as other programs would say it; lines from before have none of that kind. */
const digestText = (image: BookImage | FormerBookImage): string =>
  'sha256' in image ? ` (SHA-256 ${printable(image.sha256).slice(0, 16)}...)` : '';

export function bookText(entries: readonly BookEntry[]): string {
  if (entries.length === 0) return 'The book has no line for this yet.\n';
  const rows = entries.map((e) =>
    [
      e.time,
      e.command,
      e.label ?? '-',
      e.chip,
      e.image?.name ?? '-',
      pagesText(e.pages),
      String(e.skipped),
      String(e.retries),
      e.result,
    ].map(printable),
  );
  return columns(['time (UTC)', 'command', 'label', 'chip', 'image', 'written', 'skipped', 'resent', 'result'], rows);
}

/** What the last good burn left in the chip of this label, and the wear of its most-written page. */
export function labelText(
  label: string,
  entries: readonly BookEntry[],
  most: { readonly page: number; readonly times: number } | null,
  endurance: number,
): string {
  const name = printable(label);
  const burns = entries.filter((e) => e.image !== null && e.pages !== '');
  const last = entries.findLast((e) => e.image !== null && ['burn', 'restore', 'erase'].includes(e.command));
  if (!last) return `${name}: no burn in the book, so what it should hold is not known.\n`;
  const holds =
    last.result === 'verified'
      ? `${name} should hold ${printable(last.image!.name)}${digestText(last.image!)}, verified ${printable(last.time)}.\n`
      : `${name}: the last burn, of ${printable(last.image!.name)} at ${printable(last.time)}, ended ${printable(last.result)}; what it holds is not known.\n`;
  if (!most) return `${holds}No page was written.\n`;
  const unit = last.pageBytes === 1 ? 'cell' : 'page';
  return `${holds}Its most-written ${unit}, ${most.page}, was written ${countOf(most.times, 'time')} in ${countOf(burns.length, 'burn')}; the part is specified for ${endurance.toLocaleString('en-US')}.\n`;
}
