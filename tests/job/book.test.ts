import { describe, expect, it } from 'vitest';
import { addToBook, type BookEntry, mostWritten, rangesOf, rangesText, readBook } from '../../src/job/book.js';
import { memoryFiles } from '../support/memory-files.js';

const entry = (pages: string): BookEntry => ({
  time: '2026-01-02T03:04:05.000Z',
  command: 'burn',
  label: 'U7',
  chip: 'AT28C64B',
  image: { name: 'skerry.hex', digest: 'ab' },
  writer: { port: 'emulated', build: 'firmware-1.0.0' },
  pages,
  pageBytes: 64,
  skipped: 0,
  retries: 0,
  result: 'verified',
  exit: 0,
  proven: 'read back equal',
});

describe('the book', () => {
  it('when lines are added then they are read back in order', () => {
    const files = memoryFiles();
    addToBook(files, 'book.jsonl', entry('0-3'));
    addToBook(files, 'book.jsonl', entry('2'));
    expect(readBook(files, 'book.jsonl')).toEqual({ entries: [entry('0-3'), entry('2')], damaged: [] });
  });

  it('when a line lacks a fact that is shown later then it is told as damaged', () => {
    const { digest: _, ...image } = entry('').image!;
    const files = memoryFiles({ 'book.jsonl': `${JSON.stringify({ ...entry(''), image })}\n` });
    expect(readBook(files, 'book.jsonl')).toEqual({ entries: [], damaged: [{ line: 1, column: 1 }] });
  });

  it('when a crash cut the last line then only that line is lost', () => {
    const files = memoryFiles();
    addToBook(files, 'book.jsonl', entry('0-3'));
    const whole = files.stored.get('book.jsonl')!;
    const second = `${JSON.stringify(entry('7'))}\n`;
    for (let cut = 1; cut < second.length; cut += 1) {
      files.stored.set('book.jsonl', Buffer.concat([whole, Buffer.from(second.slice(0, cut))]));
      addToBook(files, 'book.jsonl', entry('9'));
      const read = readBook(files, 'book.jsonl');
      const survived = cut === second.length - 1 ? [entry('0-3'), entry('7'), entry('9')] : [entry('0-3'), entry('9')];
      expect(read.entries).toEqual(survived);
      expect(read.damaged).toEqual(cut === second.length - 1 ? [] : [{ line: 2, column: 1 }]);
    }
  });

  it('when a line is JSON but no entry then it is damage, not an entry', () => {
    const files = memoryFiles({ b: '{"time":1}\n[]\nnull\n7\n{"pages":"x"}\n' });
    expect(readBook(files, 'b').entries).toEqual([]);
    expect(readBook(files, 'b').damaged).toHaveLength(5);
  });

  it('when pages are written as ranges then they come back as ranges', () => {
    expect(rangesText([5, 0, 2, 1, 5])).toBe('0-2,5');
    expect(rangesOf('0-2,5')).toEqual([
      [0, 2],
      [5, 5],
    ]);
    expect(rangesText([])).toBe('');
    expect(rangesOf('')).toEqual([]);
  });

  it('when burns overlap then the most-written page adds up page by page', () => {
    expect(mostWritten([entry('0-3'), entry('2-9'), entry('3'), entry('')])).toEqual({ page: 3, times: 3 });
    expect(mostWritten([])).toBeNull();
  });
});
