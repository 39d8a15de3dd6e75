// Promise 6: a job that was killed over its writing is told by the book.
import type { CommandEnd } from './command-run.js';
import type { Broken } from './promises.js';

interface Line {
  readonly command: string;
  /** Numbers and stretches of pages: "0-5,7". */
  readonly pages: string;
  readonly pageBytes: number;
}

/** Every changed cell lies in a page that the line names. */
const names = ({ pages, pageBytes }: Line, changed: readonly number[]): boolean => {
  const stretches = pages.split(',').map((text) => text.split('-').map(Number));
  return changed.every((cell) => {
    const page = Math.floor(cell / pageBytes);
    return stretches.some(([from, to = from]) => page >= from! && page <= to!);
  });
};

/**
 * `book` is the end of `romkiln book --json`, asked right behind the command that was killed. A kill behind the last write
 * may find the job ended: then its line is the newest, and names every page that changed.
 */
export function toldByBook(killed: CommandEnd, book: CommandEnd): Broken[] {
  const changed = [...killed.after.keys()].filter((cell) => killed.after[cell] !== killed.before[cell]);
  if (changed.length === 0) return [];
  const say = (text: string): Broken[] => [{ promise: 6, text }];
  if (book.exit !== 0) return say(`the book ends with ${book.exit}`);
  const { cutOff, entries } = JSON.parse(book.out) as { cutOff: Line[]; entries: Line[] };
  const newest = entries.at(-1);
  const isEnded = newest?.command === killed.step.command && names(newest, changed);
  return isEnded || cutOff.some(({ command }) => command === killed.step.command)
    ? []
    : say(`${killed.step.command} was killed over its writing, and the book does not tell`);
}
