import { describe, expect, it } from 'vitest';
import { isPageList, pagesText, rangesOf } from '../../src/job/page-list.js';

describe('a list of pages', () => {
  it('when pages are written as ranges then they come back as ranges', () => {
    expect(pagesText([5, 0, 2, 1, 5])).toBe('0-2,5,5');
    expect(pagesText([1, 0, 3, 1, 0, 1])).toBe('0-1,3,0-1,1');
    expect(rangesOf('0-2,5')).toEqual([
      [0, 2],
      [5, 5],
    ]);
    expect(pagesText([])).toBe('');
    expect(rangesOf('')).toEqual([]);
  });

  it('when a list is long then it is read all the same', () => {
    expect(isPageList('0-1,'.repeat(1_000_000))).toBe(false);
    expect(isPageList(`${'0-1,'.repeat(1_000_000)}7`)).toBe(true);
  });
});
