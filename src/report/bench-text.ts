// An emulated bench as text: the chip, what it holds, its wear, how the bench is built, its faults.
import { hex } from '../ground/byte-text.js';
import { countOf, groupedText, sizeText, timeText } from './quantity.js';

/** The facts of a bench that are shown; the emulator describes itself so. */
export interface BenchFacts {
  readonly part: string;
  readonly maker: string;
  readonly cells: number;
  readonly pageBytes: number;
  readonly cycleUs: number;
  readonly protectionOn: boolean;
  readonly answerDelayMs: number;
  readonly registers: number;
  readonly chainReturn: boolean;
  readonly faults: readonly string[];
  readonly violations: number;
  readonly contents: { readonly crc32: number; readonly cellsNotBlank: number };
  readonly wear: { readonly highest: number; readonly cellsWritten: number; readonly endurance: number };
}

export function benchText(file: string, bench: BenchFacts): string {
  const page = bench.pageBytes === 1 ? 'cell by cell' : `pages of ${bench.pageBytes}`;
  const lines = [
    `${file}: ${bench.part} (${bench.maker}), ${sizeText(bench.cells)}, ${page}, write cycle ${timeText(bench.cycleUs)}`,
    `  holds: CRC-32 ${hex(bench.contents.crc32, 8)}, ${countOf(bench.contents.cellsNotBlank, 'cell')} not FF`,
    `  wear: ${countOf(bench.wear.cellsWritten, 'cell')} written, the most-written one ${countOf(bench.wear.highest, 'time')}, endurance ${groupedText(bench.wear.endurance)}`,
    `  protection: ${bench.protectionOn ? 'on' : 'off'}`,
    `  address registers: ${bench.registers}${bench.chainReturn ? '' : ', no chain return'}; answers ${bench.answerDelayMs} ms late`,
    `  faults: ${bench.faults.length === 0 ? 'none' : bench.faults.join('; ')}`,
  ];
  if (bench.violations > 0) lines.push(`  data sheet rules broken by the writer so far: ${bench.violations}`);
  return `${lines.join('\n')}\n`;
}

/** What was just done to a bench, one line a fault. */
export const faultsDoneText = (done: readonly { readonly fault: string; readonly effect: string }[]): string =>
  done.map(({ fault, effect }) => `Done: ${fault} (${effect}).\n`).join('');
