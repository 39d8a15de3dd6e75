// What burning costs the host: the native serial port on a pseudo terminal, the bench behind it in real time in a process of its own.
import { existsSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as pause } from 'node:timers/promises';
import type { PortCost } from './burn-through-port.js';
import { inFreshProcess, startRomkiln, top, wallMsOfNode } from './fresh-process.js';
import { figureRow, plainRow, type Row, type Section, timeRow } from './row.js';

/** The chip as its data sheet has it, and one of twice its pace. */
const cyclesMs = [10, 5] as const;
const pages = 512;

async function costOfBurning(bench: string): Promise<PortCost | null> {
  const server = startRomkiln(['emulate', 'serve', bench]);
  const ended = new Promise<void>((resolve) => server.on('close', () => resolve()));
  let said = '';
  server.stderr!.on('data', (chunk: Buffer) => {
    said += chunk.toString();
  });
  try {
    const port = `${bench}.port`;
    for (let waits = 0; !existsSync(port) && waits < 100 && server.exitCode === null; waits++) await pause(100);
    if (!existsSync(port)) {
      process.stderr.write(`the bench cannot be served: ${said}\n`);
      return null;
    }
    return inFreshProcess<PortCost>('burn-through-port', [port]);
  } finally {
    server.kill('SIGINT');
    await ended;
  }
}

function rowsOf(cycleMs: number, cost: PortCost): Row[] {
  const most = cycleMs === 10 ? 10 : null;
  return [
    figureRow(
      `CPU of the burning process, of one core, cycle ${cycleMs} ms`,
      (100 * cost.cpuMs) / cost.wallMs,
      '%',
      most,
      1,
    ),
    plainRow('  CPU time a page', `${((1000 * cost.cpuMs) / cost.blocks).toFixed(0)} us`),
    timeRow('  wall time; limit: the write cycles', cycleMs * pages, cost.wallMs),
    plainRow('  lines sent again', `${cost.resent}`),
  ];
}

export async function hostSection(): Promise<Section> {
  const folder = mkdtempSync(join(tmpdir(), 'romkiln-bench-'));
  const rows: Row[] = [];
  try {
    for (const cycleMs of cyclesMs) {
      const bench = join(folder, `bench-${cycleMs}.json`);
      const words = ['emulate', 'new', bench, '--chip', 'AT28C256', '--cycle', `${cycleMs}ms`];
      wallMsOfNode([`${top}/bin/romkiln.js`, ...words]);
      const cost = await costOfBurning(bench);
      if (cost) rows.push(...rowsOf(cycleMs, cost));
      else rows.push(plainRow('not measured: the bench could not be served (socat is needed)', ''));
    }
    return {
      heading: 'Host load: a whole AT28C256 through the native serial port on a pseudo terminal, in real time',
      rows,
      notes: [
        'from the first page line to the last answer, all threads of the process',
        'the bench runs in a process of its own; where the machine is too busy for real time, the wall time grows',
      ],
    };
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}
