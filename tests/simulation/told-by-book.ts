// Promise 6: a job that was killed over its writing is told by the book.
import type { CommandEnd } from './command-run.js';
import type { Broken } from './promises.js';

interface Line {
  readonly command: string;
  /** The record that was made before the first write. */
  readonly record?: string;
}

/**
 * `book` is the end of `romkiln book --json`, asked right behind the command that was killed. A kill behind its last write
 * may find the job ended, well or not: then its line is the newest, and names the record that was made before it wrote.
 */
export function toldByBook(killed: CommandEnd, book: CommandEnd): Broken[] {
  const changed = killed.after.some((byte, cell) => byte !== killed.before[cell]);
  if (!changed) return [];
  const say = (text: string): Broken[] => [{ promise: 6, text }];
  if (book.exit !== 0) return say(`the book ends with ${book.exit}`);
  const { cutOff, entries } = JSON.parse(book.out) as { cutOff: Line[]; entries: Line[] };
  const newest = entries.at(-1);
  const isEnded = newest?.command === killed.step.command && newest.record !== undefined;
  return isEnded || cutOff.some(({ command }) => command === killed.step.command)
    ? []
    : say(`${killed.step.command} was killed over its writing, and the book does not tell`);
}
