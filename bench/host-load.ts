// What burning costs the host: the native serial port on a pseudo terminal, the bench behind it in real time in a process of its own.
import { existsSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as pause } from 'node:timers/promises';
import type { PortCost } from './burn-through-port.js';
import { inFreshProcess, startRomkiln, top, wallMsOfNode } from './fresh-process.js';
import { figureRow, plainRow, type Row, type Section, timeRow } from './row.js';

const cycleMs = 5;
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

export async function hostSection(): Promise<Section> {
  const folder = mkdtempSync(join(tmpdir(), 'romkiln-bench-'));
  try {
    const bench = join(folder, 'bench.json');
    wallMsOfNode([`${top}/bin/romkiln.js`, 'emulate', 'new', bench, '--chip', 'AT28C256', '--cycle', `${cycleMs}ms`]);
    const cost = await costOfBurning(bench);
    const rows: Row[] = cost
      ? [
          figureRow('CPU of the burning process, of one core', (100 * cost.cpuMs) / cost.wallMs, '%', 10, 1),
          plainRow('  CPU time a page', `${((1000 * cost.cpuMs) / cost.blocks).toFixed(0)} us`),
          timeRow('  wall time; limit: the write cycles', cycleMs * pages, cost.wallMs),
          plainRow('  lines sent again', `${cost.resent}`),
        ]
      : [plainRow('not measured: the bench could not be served (socat is needed)', '')];
    return {
      heading: `Host load: AT28C256, cycle ${cycleMs} ms, native serial port on a pseudo terminal, real time`,
      rows,
      notes: [
        'from the first page line to the last answer; the bench runs in a process of its own, slower than real time on a busy machine',
      ],
    };
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}
