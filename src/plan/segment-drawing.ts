// Seven-segment digits drawn as text, three lines high.
import { pointBit } from './segment-font.js';

/** One digit, three lines of four characters; the fourth is the point. Segments: a = bit 0 .. g = bit 6, point = bit 7. */
export function drawSegments(segments: number): readonly [string, string, string] {
  const lit = (letter: string, sign: string): string => ((segments >> 'abcdefg'.indexOf(letter)) & 1 ? sign : ' ');
  const point = segments & pointBit ? '.' : ' ';
  return [
    ` ${lit('a', '_')}  `,
    `${lit('f', '|')}${lit('g', '_')}${lit('b', '|')} `,
    `${lit('e', '|')}${lit('d', '_')}${lit('c', '|')}${point}`,
  ];
}

/** Several digits side by side, leftmost first: three lines of text. */
export function drawDigits(digits: readonly number[]): readonly [string, string, string] {
  const drawn = digits.map(drawSegments);
  const line = (k: 0 | 1 | 2): string =>
    drawn
      .map((d) => d[k])
      .join(' ')
      .trimEnd();
  return [line(0), line(1), line(2)];
}

/** Drawings side by side with a word above each. */
export function drawBeside(
  pictures: readonly { readonly title: string; readonly digits: readonly number[] }[],
): string {
  const blocks = pictures.map(({ title, digits }) => [title, ...drawDigits(digits)]);
  const widths = blocks.map((lines) => Math.max(...lines.map((l) => l.length)));
  return [0, 1, 2, 3]
    .map((k) =>
      blocks
        .map((lines, i) => lines[k]!.padEnd(widths[i]! + 4))
        .join('')
        .trimEnd(),
    )
    .join('\n');
}
