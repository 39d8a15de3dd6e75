// Cycles of the firmware's inner loops, taken from the edges at the chip's pins; at 16 MHz a cycle is 62.5 ns.
import { fullImage, onBench, writeOnly } from './job-on-bench.js';
import { watchPins } from './pin-watch.js';
import { plainRow, type Row, type Section } from './row.js';

const middle = (sorted: readonly number[]): number => sorted[sorted.length >> 1] ?? Number.NaN;

function gapRow(work: string, gaps: readonly number[]): Row {
  const sorted = [...gaps].sort((a, b) => a - b);
  const mean = sorted.reduce((sum, gap) => sum + gap, 0) / sorted.length;
  return plainRow(work, `${middle(sorted)} cycles (mean ${mean.toFixed(1)}, longest ${sorted.at(-1)})`);
}

export async function loopSection(): Promise<Section> {
  const bytes = fullImage(8192, 7);
  const rows = await onBench({ chip: 'AT28C256', cycleUs: 3000, baud: 1_000_000 }, async (session) => {
    const { pins } = await writeOnly(session, bytes);
    const summing = watchPins();
    await session.writer.sums(0, 8192, 64);
    const reading = watchPins();
    await session.writer.read(0, 8192);
    return [
      gapRow('loading a page, /WE to /WE', pins.loadGaps),
      gapRow('comparing a page, address to address', pins.readGaps),
      gapRow('summing (CRC-32), address to address', summing.readGaps),
      gapRow('streaming (base64, two sums), address to address', reading.readGaps),
    ];
  });
  return {
    heading: 'Inner loops of the firmware a byte, AT28C256, 1000000 baud',
    rows,
    notes: [
      'the middle gap is the loop alone; the mean has receive interrupts in it',
      'streaming: only bytes that did not wait for the line, whose characters take 213 cycles a byte at this rate',
    ],
  };
}
