// Reading a whole chip over the link: dump, full verify, blank check.
import { findPart } from '../src/chip/chip-table.js';
import type { Violation } from '../src/emulator/violation.js';
import { wholeRange } from '../src/image/range.js';
import { blankCheck } from '../src/job/verify.js';
import { fullImage, msOfPhase, onBench } from './job-on-bench.js';
import { plainRow, type Row, type Section, timeRow } from './row.js';
import { noteViolations } from './violation-count.js';

export interface Reading {
  readonly chip: string;
  readonly baud: number;
  /** The chip is blank, and a blank check reads it. */
  readonly blank: boolean;
}

export interface Read {
  /** From the first character of the request to the last of the answer. */
  readonly ms: number;
  /** What the characters of the bare bytes take, 10 bits each. */
  readonly limitMs: number;
  /** From opening the port until a chip was chosen and found there. */
  readonly connectMs: number;
  readonly violations: readonly Violation[];
}

export async function readAll({ chip, baud, blank }: Reading): Promise<Read> {
  const { cells, cycleMaxUs } = findPart(chip);
  const contents = blank ? new Uint8Array() : fullImage(cells, 4);
  return onBench({ chip, cycleUs: cycleMaxUs.value, baud, contents }, async (session) => {
    const { lines, part, writer, bench, connectMs } = session;
    lines.restart();
    if (blank) await blankCheck(writer, part, { range: wholeRange(cells) });
    else await writer.read(0, cells);
    return {
      ms: msOfPhase(lines.phase('read')),
      limitMs: (cells * 10_000) / baud,
      connectMs,
      violations: bench.violations,
    };
  });
}

export async function readSection(): Promise<Section> {
  const rows: Row[] = [];
  for (const baud of [115_200, 250_000, 500_000, 1_000_000]) {
    const { ms, limitMs, connectMs, violations } = await readAll({ chip: 'AT28C256', baud, blank: false });
    noteViolations(violations);
    rows.push(timeRow(`dump and full verify, ${baud} baud`, limitMs, ms, 1.45));
    rows.push(plainRow('  from opening the port to a chosen chip', `${(connectMs / 1000).toFixed(3)} s`));
  }
  const { ms, limitMs, violations } = await readAll({ chip: 'AT28C256', baud: 500_000, blank: true });
  noteViolations(violations);
  rows.push(timeRow('blank check, 500000 baud', limitMs, ms, 1.45));
  return {
    heading: 'Reading a 28C256 over the link',
    rows,
    notes: ['limit: 32768 x 10 bit; base64 alone makes that 1.333 x'],
  };
}
