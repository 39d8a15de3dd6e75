// One line of the book, for tests that care about a part of it.
import type { BookEntry } from '../../src/job/book.js';

export const bookEntry = (more: Partial<BookEntry>): BookEntry => ({
  time: '2026-01-02T03:04:05.000Z',
  command: 'burn',
  label: 'U7',
  chip: 'AT28C16',
  image: { name: 'skerry.hex', sha256: '0123456789abcdef0123' },
  writer: { port: 'bench', build: 'firmware-2.0.0' },
  pages: '0-3',
  pageBytes: 1,
  skipped: 0,
  retries: 0,
  outcome: { kind: 'verified', pages: '0-2047' },
  exit: 0,
  ...more,
});
