// Pages as book and keep write them: "0-2,5", each as often as it was written. Cells, where a chip has no page mode.
import type { Part } from '../chip/part.js';
import type { Image } from '../image/image.js';
import { joinRanges, type Range } from '../image/range.js';
import { blocksOf } from './blocks.js';
import type { PlannedWrite } from './wanted-cells.js';

/** `[0,1,2,5]` as "0-2,5", and `[0,1,2,1]` as "0-2,1". */
export function pagesText(pages: readonly number[]): string {
  const texts: string[] = [];
  let left = [...pages].sort((a, b) => a - b);
  while (left.length > 0) {
    const once = left.filter((n, i) => n !== left[i - 1]);
    const ranges = joinRanges(once.map((n) => ({ from: n, to: n })));
    texts.push(...ranges.map(({ from, to }) => (from === to ? `${from}` : `${from}-${to}`)));
    left = left.filter((n, i) => n === left[i - 1]);
  }
  return texts.join(',');
}

/** More pages, and more cells, than any part has. */
const pagesMost = 2 ** 24;

/** Whether a text lists pages as `pagesText` does. Part by part: an expression for the whole would choke on a long list. */
export const isPageList = (text: string): boolean =>
  text === '' ||
  text.split(',').every((part) => {
    const [, from, to = from] = /^(\d{1,8})(?:-(\d{1,8}))?$/.exec(part) ?? [];
    return from !== undefined && Number(from) <= Number(to) && Number(to) < pagesMost;
  });

/** The ranges of "0-2,5" as pairs, inclusive. */
export const rangesOf = (text: string): [number, number][] =>
  text === ''
    ? []
    : text.split(',').map((part) => {
        const [a = 0, b = a] = part.split('-').map(Number);
        return [a, b];
      });

/** The same with every page once, however often it was written. */
export const rangesOnce = (text: string): Range[] =>
  joinRanges(
    rangesOf(text)
      .map(([from, to]) => ({ from, to }))
      .sort((a, b) => a.from - b.from),
  );

/** Every page of `pages` is one of `others`. */
export const isAmong = (pages: string, others: string): boolean => {
  const joined = rangesOnce(others);
  return rangesOf(pages).every(([from, to]) => joined.some((r) => r.from <= from && to <= r.to));
};

/** The page of each write cycle that these blocks take. */
export const cyclesOf = (part: Part, blocks: readonly PlannedWrite[]): number[] => {
  const page = part.pageBytes.value;
  return blocks.flatMap((b) => (page === 1 ? b.changes : [Math.floor(b.address / page)]));
};

/** The pages of which an image says anything in a range. */
export const pagesAsked = (part: Part, image: Image, range: Range): string => {
  const page = part.pageBytes.value;
  return pagesText(blocksOf(image, range, page).map((b) => b.address / page));
};
