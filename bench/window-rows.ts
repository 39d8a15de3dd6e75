// What the window is worth: the same burn with one, two, eight blocks outstanding and as many as the writer offers, behind
// adapters that answer late.
import { fullImage, onBench, writeOnly } from './job-on-bench.js';
import { type Row, type Section, timeRow } from './row.js';
import { noteViolations } from './violation-count.js';

/** Parts of a chip are enough where every page costs the same. */
const works = [
  { chip: 'AT28C256', cycleUs: 5000, cells: 8192 },
  { chip: 'AT28C010', cycleUs: 10_000, cells: 8192 },
  { chip: 'AT28C16', cycleUs: 1000, cells: 1024 },
  { chip: 'AT28C16E', cycleUs: 200, cells: 2048 },
] as const;

const windows = [
  { name: 'stop-and-wait', size: 1 },
  { name: 'window 2', size: 2 },
  { name: 'window 8', size: 8 },
] as const;

export async function windowSection(): Promise<Section> {
  const rows: Row[] = [];
  for (const { chip, cycleUs, cells } of works)
    for (const { name, size } of windows)
      for (const answerDelayMs of [0, 1, 16]) {
        const burned = await onBench({ chip, cycleUs, answerDelayMs }, (session) =>
          writeOnly(session, fullImage(cells, 3), size),
        );
        noteViolations(burned.violations);
        const cycle = cycleUs >= 1000 ? `${cycleUs / 1000} ms` : `${cycleUs} us`;
        const work = `${cells} bytes, ${chip}, cycle ${cycle}, ${name}, answers ${answerDelayMs} ms late`;
        rows.push(timeRow(work, burned.limitMs, burned.writeMs));
      }
  return { heading: 'What the window is worth (500000 baud)', rows, notes: [] };
}
