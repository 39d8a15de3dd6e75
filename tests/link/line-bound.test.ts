import { expect, it } from 'vitest';
import { lineBound } from '../../src/link/line-bound.js';

/** What passes a bound of `lineMax` when `text` arrives in pieces of `size`. */
function passed(text: string, size: number, lineMax: number): { out: string; restarts: number; overlong: number } {
  const seen = { out: '', restarts: 0, overlong: 0 };
  const feed = lineBound(lineMax, {
    piece: (bytes) => {
      seen.out += bytes.toString('latin1');
    },
    restart: () => {
      seen.restarts++;
      seen.out = seen.out.slice(0, seen.out.lastIndexOf('\n') + 1);
    },
    overlong: () => {
      seen.overlong++;
    },
  });
  for (let i = 0; i < text.length; i += size) feed(Buffer.from(text.slice(i, i + size), 'latin1'));
  return seen;
}

it('when lines keep to the bound then every byte passes, however the text is cut', () => {
  const text = 'a\n\nbcdef\n12345\n';
  for (let size = 1; size <= text.length; size++)
    expect(passed(text, size, 5)).toEqual({ out: text, restarts: 0, overlong: 0 });
});

it('when a line crosses the bound then it is dropped with its line end and told once, however the text is cut', () => {
  const text = 'ab\n123456\ncd\n1234567890123\n\nef\n';
  for (let size = 1; size <= text.length; size++)
    expect(passed(text, size, 5)).toEqual({ out: 'ab\ncd\n\nef\n', restarts: 2, overlong: 2 });
});

it('when no line end ever comes then nothing is kept beyond the bound', () => {
  const seen = passed('x'.repeat(100_000), 1000, 4000);
  expect(seen).toEqual({ out: '', restarts: 1, overlong: 1 });
});
