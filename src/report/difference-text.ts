// A difference as text: the runs with the bits that are wrong, then the summary by data bit and by address line.
import type { Difference, DifferenceRun } from '../image/difference.js';
import { columns } from './columns.js';
import { addressText, countOf, listText } from './quantity.js';

/** Said in the builder's words about one differing cell, where a plan is known; may be several lines. */
export type Describe = (address: number, wanted: number, actual: number) => string;

export interface DifferenceTextOptions {
  /** Cells of the larger image, for the width of addresses. */
  readonly cells: number;
  readonly describe?: Describe;
  /** Most runs and cells shown one by one; the rest is counted. */
  readonly most?: number;
}

const bytesPerRow = 8;

const byteAt = (text: string, index: number): number => Number.parseInt(text.slice(2 * index, 2 * index + 2), 16);
const spaced = (text: string): string => (text.match(/../g) ?? []).join(' ');

/** The wrong data bits of a run: D0 D3. */
function wrongBits(run: DifferenceRun): string {
  let wrong = 0;
  for (let i = 0; i < run.wanted.length / 2; i += 1) wrong |= byteAt(run.wanted, i) ^ byteAt(run.actual, i);
  return [0, 1, 2, 3, 4, 5, 6, 7]
    .filter((bit) => wrong & (1 << bit))
    .map((bit) => `D${bit}`)
    .join(' ');
}

const shortened = (text: string): string => {
  const bytes = text.length / 2;
  return bytes <= bytesPerRow ? spaced(text) : `${spaced(text.slice(0, 2 * bytesPerRow))} ...`;
};

function runsText(runs: readonly DifferenceRun[], cells: number, most: number): string {
  const rows = runs.slice(0, most).map((run) => {
    const where =
      run.from === run.to
        ? addressText(run.from, cells)
        : `${addressText(run.from, cells)}..${addressText(run.to, cells)}`;
    return [where, shortened(run.wanted), shortened(run.actual), wrongBits(run)];
  });
  const more = runs.length > most ? `... and ${countOf(runs.length - most, 'more run')}; --json lists them all.\n` : '';
  return columns(['address', 'wanted', 'actual', 'wrong bits'], rows) + more;
}

function bitsText(difference: Difference): string {
  const rows = difference.byBit
    .filter((b) => b.count > 0)
    .map((b) => [`D${b.bit}`, String(b.count), String(b.zeroToOne), String(b.oneToZero)]);
  return columns(['bit', 'wrong', 'reads 1 for 0', 'reads 0 for 1'], rows, ['left', 'right', 'right', 'right']);
}

/**
 * Address lines that are the same in all differences say where to look; a line that is evenly split says nothing. Where
 * they are all the high lines there are, they name one stretch of cells.
 */
function linesText(difference: Difference, cells: number): string {
  const varying = difference.byAddressLine.filter((l) => l.varies);
  const telling = varying.filter((l) => l.low === 0 || l.high === 0);
  if (difference.bytes < 2 || telling.length === 0) return '';
  const lowest = telling[0]!.line;
  if (varying.every((l) => l.line < lowest || telling.includes(l))) {
    const from = telling.reduce((sum, l) => sum + (l.low === 0 ? 2 ** l.line : 0), 0);
    return `All differences lie in ${addressText(from, cells)}..${addressText(from + 2 ** lowest - 1, cells)}.\n`;
  }
  const words = telling.map((l) => `A${l.line} is ${l.low === 0 ? 'high' : 'low'}`);
  return `All differences lie where ${listText(words)}.\n`;
}

function describedText(difference: Difference, describe: Describe, cells: number, most: number): string {
  const lines: string[] = [];
  for (const run of difference.runs) {
    for (let address = run.from; address <= run.to; address += 1) {
      if (lines.length >= most) return `${lines.join('\n')}\n... and more.\n`;
      const index = address - run.from;
      const text = describe(address, byteAt(run.wanted, index), byteAt(run.actual, index));
      lines.push(`${addressText(address, cells)}: ${text.replaceAll('\n', '\n    ')}`);
    }
  }
  return `${lines.join('\n')}\n`;
}

export function differenceText(difference: Difference, options: DifferenceTextOptions): string {
  const most = options.most ?? 16;
  if (difference.bytes === 0) return '';
  const parts = [
    `${countOf(difference.bytes, 'byte')} of ${difference.compared} ${difference.bytes === 1 ? 'differs' : 'differ'}, in ${countOf(difference.runs.length, 'run')}:\n`,
    runsText(difference.runs, options.cells, most),
    '\n',
    bitsText(difference),
    linesText(difference, options.cells),
  ];
  if (options.describe) parts.push('\n', describedText(difference, options.describe, options.cells, Math.min(most, 8)));
  return parts.join('');
}

/** What was compared and what was not, in one sentence. */
export function comparedText(difference: Difference): string {
  const parts = [`${countOf(difference.compared, 'byte')} compared`];
  if (difference.undefinedCells > 0)
    parts.push(`${difference.undefinedCells} not defined by the wanted image, so not compared`);
  if (difference.missingCells > 0) parts.push(`${difference.missingCells} wanted but missing`);
  return `${parts.join(', ')}.`;
}
