import { describe, expect, it } from 'vitest';
import { type BookEntry, openBook } from '../../src/job/book.js';
import { bookEntry } from '../support/book-entry.js';
import { memoryFiles } from '../support/memory-files.js';

const bookPath = 'd/book.jsonl';
const entry = (pages: string): BookEntry => bookEntry({ pages });

describe('the book', () => {
  it('when lines are added then they are read back in order', () => {
    const files = memoryFiles();
    openBook(files, 'd').add(entry('0-3'));
    openBook(files, 'd').add(entry('2'));
    expect(openBook(files, 'd').read()).toMatchObject({ entries: [entry('0-3'), entry('2')], damaged: [] });
  });

  it('when a line lacks a fact that is shown later then it is told as damaged', () => {
    const image = { name: 'skerry.hex' };
    const files = memoryFiles({ [bookPath]: `${JSON.stringify({ ...entry(''), image })}\n` });
    expect(openBook(files, 'd').read()).toMatchObject({ entries: [], damaged: [{ line: 1, column: 1 }] });
  });

  it('when a crash cut the last line then only that line is lost', () => {
    const files = memoryFiles();
    openBook(files, 'd').add(entry('0-3'));
    const whole = files.stored.get(bookPath)!;
    const second = `${JSON.stringify(entry('7'))}\n`;
    for (let cut = 1; cut < second.length; cut += 1) {
      files.stored.set(bookPath, Buffer.concat([whole, Buffer.from(second.slice(0, cut))]));
      openBook(files, 'd').add(entry('9'));
      const read = openBook(files, 'd').read();
      const survived = cut === second.length - 1 ? [entry('0-3'), entry('7'), entry('9')] : [entry('0-3'), entry('9')];
      expect(read.entries).toEqual(survived);
      expect(read.damaged).toEqual(cut === second.length - 1 ? [] : [{ line: 2, column: 1 }]);
    }
  });

  it('when a line is JSON but no entry then it is damage, not an entry', () => {
    const files = memoryFiles({ [bookPath]: '{"time":1}\n[]\nnull\n7\n{"pages":"x"}\n' });
    expect(openBook(files, 'd').read().entries).toEqual([]);
    expect(openBook(files, 'd').read().damaged).toHaveLength(5);
  });

  it.each<[string, object]>([
    ['no time', { time: 7 }],
    ['no command', { command: null }],
    ['no chip', { chip: 1 }],
    ['no outcome', { outcome: undefined }],
    ['an outcome in words', { outcome: 'verified' }],
    ['an outcome of no kind', { outcome: { kind: 'verfied' } }],
    ['an outcome without its facts', { outcome: { kind: 'differs' } }],
    ['a time that is none', { time: 'noon' }],
    ['pages beyond any part', { pages: '0-99999999' }],
    ['pages that run backwards', { pages: '7-3' }],
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
    const files = memoryFiles({ [bookPath]: `${JSON.stringify({ ...entry('1'), ...wrong })}\n` });
    expect(openBook(files, 'd').read()).toMatchObject({ entries: [], damaged: [{ line: 1, column: 1 }] });
  });

  it('when a line is of a book from before outcomes were facts then it is refused, not misread', () => {
    const { outcome: _, ...former } = { ...entry('1'), result: 'verified', proven: 'read back equal' };
    const files = memoryFiles({ [bookPath]: `${JSON.stringify(former)}\n` });
    expect(openBook(files, 'd').read()).toMatchObject({ entries: [], damaged: [{ line: 1, column: 1 }] });
  });

  it('when a doubt is settled then that is a line of its own', () => {
    const files = memoryFiles();
    openBook(files, 'd').add(entry('1'));
    openBook(files, 'd').add({ time: '2026-01-02T03:04:05.000Z', settles: '0123456789ab' });
    const read = openBook(files, 'd').read();
    expect([read.entries, [...read.settled], read.damaged]).toEqual([[entry('1')], ['0123456789ab'], []]);
  });

  it('when label, image and pages are none, or pages have several digits, then the line is good', () => {
    const lines = [{ ...entry(''), label: null, image: null }, entry('120'), entry('0-127,130,200-511,513')];
    const files = memoryFiles({ [bookPath]: `\n  \n${lines.map((e) => JSON.stringify(e)).join('\n')}\n` });
    expect(openBook(files, 'd').read()).toMatchObject({ entries: lines, damaged: [] });
  });

  it('when lines are added one after the other then the book has no empty line', () => {
    const files = memoryFiles({ [bookPath]: '' });
    for (const pages of ['1', '2', '3']) openBook(files, 'd').add(entry(pages));
    const text = Buffer.from(files.stored.get(bookPath)!).toString();
    expect(text.split('\n').map((line) => line !== '')).toEqual([true, true, true, false]);
  });
});
