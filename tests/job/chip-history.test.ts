import { describe, expect, it } from 'vitest';
import type { BookEntry } from '../../src/job/book.js';
import { historyOf, mostWritten } from '../../src/job/chip-history.js';
import type { CutOff } from '../../src/job/cut-off.js';
import { bookEntry } from '../support/book-entry.js';

const entry = (pages: string): BookEntry => bookEntry({ pages });
const at = (second: number) => `2026-01-02T03:04:${String(second).padStart(2, '0')}.000Z`;

describe('wear', () => {
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

describe('what a chip should hold', () => {
  const contentOf = (...entries: BookEntry[]) => historyOf(entries, []).content;
  const test = (outcome: BookEntry['outcome'], command = 'rig') =>
    bookEntry({ time: at(9), command, image: null, outcome });

  it('when a test left the cells otherwise than before then nobody knows, and who left it is told', () => {
    for (const outcome of [
      { kind: 'not-put-back', cells: 3 },
      { kind: 'broken-off', putBack: false },
      { kind: 'codes-sent', changed: 3 },
    ] as const)
      expect(contentOf(bookEntry({}), test(outcome)), outcome.kind).toEqual({ kind: 'unknown', by: test(outcome) });
  });

  it('when a test put everything back, or wrote nothing, then the burn before it counts', () => {
    for (const outcome of [
      { kind: 'put-back', sound: false },
      { kind: 'broken-off', putBack: true },
      { kind: 'codes-sent', changed: 0 },
      { kind: 'refused' },
      { kind: 'nothing-written' },
    ] as const)
      expect(contentOf(bookEntry({}), test(outcome)).kind, outcome.kind).toBe('known');
  });

  it('when a burn verified a part of the chip then only that is known', () => {
    const whole = bookEntry({});
    const part = bookEntry({ time: at(9), outcome: { kind: 'verified', pages: '0-255' } });
    expect(contentOf(whole)).toMatchObject({ whole: true });
    expect(contentOf(whole, part)).toMatchObject({ whole: false, pages: '0-255', burn: part });
  });

  it.each(['not-verified', 'interrupted'] as const)('when the last burn ended %s then nobody knows', (kind) => {
    const last = bookEntry({ time: at(9), outcome: { kind } });
    expect(contentOf(bookEntry({}), last)).toEqual({ kind: 'unknown', by: last });
  });

  it('when the last burn was cut off then that is what is known, and a burn after it counts again', () => {
    const cut: CutOff = {
      ...{ id: 'a', time: at(9), label: 'U7', chip: 'AT28C16', port: 'p', image: 'x', keptId: 'a', isOpen: true },
      ...{ command: 'burn', pages: '0-3', pageBytes: 1 },
    };
    expect(historyOf([bookEntry({})], [cut]).content).toEqual({ kind: 'cut-off', by: cut });
    expect(historyOf([bookEntry({}), bookEntry({ time: at(10) })], [cut]).content.kind).toBe('known');
  });
});
