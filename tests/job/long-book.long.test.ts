// A book that is longer than what is read of it.
import { expect, it } from 'vitest';
import { type BookEntry, bookReadBytes, openBook } from '../../src/job/book.js';
import { bookEntry } from '../support/book-entry.js';
import { memoryFiles } from '../support/memory-files.js';

const bookPath = 'd/book.jsonl';
const entry = (pages: string): BookEntry => bookEntry({ pages });

it('when the book is longer than what is read then its last part is, whole lines only, and that is said', () => {
  const line = `${JSON.stringify(entry('0-3'))}\n`;
  const count = Math.ceil((2 * bookReadBytes) / line.length);
  const files = memoryFiles({ [bookPath]: line.repeat(count) });
  files.read = files.readIfThere = () => {
    throw new Error('nobody reads it whole');
  };
  openBook(files, 'd').add(entry('9'));
  const { entries, damaged, since } = openBook(files, 'd').read();
  expect([entries.at(-1), damaged, since]).toEqual([entry('9'), [], entry('').time]);
  expect(entries.length).toBe(Math.floor(bookReadBytes / line.length));
});
