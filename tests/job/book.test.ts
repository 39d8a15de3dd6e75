import { describe, expect, it } from 'vitest';
import { addToBook, type BookEntry, mostWritten, rangesOf, rangesText, readBook } from '../../src/job/book.js';
import { bookEntry } from '../support/book-entry.js';
import { memoryFiles } from '../support/memory-files.js';

const entry = (pages: string): BookEntry => bookEntry({ pages });

describe('the book', () => {
  it('when lines are added then they are read back in order', () => {
    const files = memoryFiles();
    addToBook(files, 'book.jsonl', entry('0-3'));
    addToBook(files, 'book.jsonl', entry('2'));
    expect(readBook(files, 'book.jsonl')).toEqual({ entries: [entry('0-3'), entry('2')], damaged: [] });
  });

  it('when a line lacks a fact that is shown later then it is told as damaged', () => {
    const image = { name: 'skerry.hex' };
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

  it.each<[string, object]>([
    ['no time', { time: 7 }],
    ['no command', { command: null }],
    ['no chip', { chip: 1 }],
    ['no result', { result: undefined }],
    ['no proof', { proven: false }],
    ['a page size that is none', { pageBytes: '64' }],
    ['a count of skipped that is none', { skipped: 1.5 }],
    ['retries that are none', { retries: null }],
    ['an exit that is none', { exit: 'x' }],
    ['a label that is none', { label: 7 }],
    ['an image without a name', { image: { sha256: 'ab' } }],
    ['a digest that is no text', { image: { name: 'a', sha256: 7 } }],
    ['an image that is a text', { image: 'skerry' }],
    ['no writer', { writer: undefined }],
    ['a writer without a port', { writer: { build: 'x' } }],
    ['pages in words', { pages: 'all' }],
    ['pages with something before', { pages: ' 1' }],
    ['pages with something after', { pages: '1-2,' }],
    ['pages without an end', { pages: '1-' }],
    ['pages with two ends', { pages: '1-2-3' }],
  ])('when a line has %s then it is damage', (_, wrong) => {
    const files = memoryFiles({ b: `${JSON.stringify({ ...entry('1'), ...wrong })}\n` });
    expect(readBook(files, 'b')).toEqual({ entries: [], damaged: [{ line: 1, column: 1 }] });
  });

  it('when a line has the digest of former times then it is good', () => {
    const former = { ...entry('1'), image: { name: 'skerry.hex', digest: 'ab' } };
    expect(readBook(memoryFiles({ b: `${JSON.stringify(former)}\n` }), 'b').entries).toEqual([former]);
  });

  it('when label, image and pages are none, or pages have several digits, then the line is good', () => {
    const lines = [{ ...entry(''), label: null, image: null }, entry('120'), entry('0-127,130,200-511,513')];
    const files = memoryFiles({ b: `\n  \n${lines.map((e) => JSON.stringify(e)).join('\n')}\n` });
    expect(readBook(files, 'b')).toEqual({ entries: lines, damaged: [] });
  });

  it('when lines are added one after the other then the book has no empty line', () => {
    const files = memoryFiles({ b: '' });
    for (const pages of ['1', '2', '3']) addToBook(files, 'b', entry(pages));
    const text = Buffer.from(files.stored.get('b')!).toString();
    expect(text.split('\n').map((line) => line !== '')).toEqual([true, true, true, false]);
  });

  it('when pages are written as ranges then they come back as ranges', () => {
    expect(rangesText([5, 0, 2, 1, 5])).toBe('0-2,5,5');
    expect(rangesText([1, 0, 3, 1, 0, 1])).toBe('0-1,3,0-1,1');
    expect(rangesOf('0-2,5')).toEqual([
      [0, 2],
      [5, 5],
    ]);
    expect(rangesText([])).toBe('');
    expect(rangesOf('')).toEqual([]);
  });

  it('when burns overlap then the most-written page adds up page by page', () => {
    expect(mostWritten([entry('0-3'), entry('2-9'), entry('3'), entry('')])).toEqual({ page: 3, times: 3 });
    // Ranges that end and begin side by side do not add up, and of equal pages the first is named.
    expect(mostWritten([entry('0-3'), entry('4-9'), entry('10')])).toEqual({ page: 0, times: 1 });
    expect(mostWritten([entry('5-9'), entry('0-4'), entry('0-4'), entry('5-9')])).toEqual({ page: 0, times: 2 });
    expect(mostWritten([entry('1-2'), entry('2-5'), entry('4-5')])).toEqual({ page: 2, times: 2 });
    expect(mostWritten([])).toBeNull();
    // Written several times by one job.
    expect(mostWritten([entry('0-2,1,1'), entry('1')])).toEqual({ page: 1, times: 4 });
  });
});
