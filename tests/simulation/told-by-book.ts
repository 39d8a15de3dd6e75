// Promise 6: a job that was killed over its writing is told by the book.
import type { CommandEnd } from './command-run.js';
import type { Broken } from './promises.js';

/** `book` is the end of `romkiln book --json`, asked right behind the command that was killed. */
export function toldByBook(killed: CommandEnd, book: CommandEnd): Broken[] {
  const changed = killed.after.some((byte, cell) => byte !== killed.before[cell]);
  if (!changed) return [];
  const say = (text: string): Broken[] => [{ promise: 6, text }];
  if (book.exit !== 0) return say(`the book ends with ${book.exit}`);
  const { cutOff } = JSON.parse(book.out) as { cutOff: { command: string }[] };
  return cutOff.some(({ command }) => command === killed.step.command)
    ? []
    : say(`${killed.step.command} was killed over its writing, and the book does not tell`);
}
