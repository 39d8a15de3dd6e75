// The real world: this process, its terminal, the disk, the serial ports. Called only from bin.
import { spawn } from 'node:child_process';
import { readFileSync } from 'node:fs';
import { homedir } from 'node:os';
import type { Clock } from '../ground/clock.js';
import { dataFolder } from './data-folder.js';
import { safeText } from './safe-output.js';
import type { Neighbour, World } from './world.js';
import { diskFiles } from './world-files.js';
import { outputOf } from './world-output.js';
import { readInput } from './world-slow-input.js';

/** No answer is nearly so long. A device such as /dev/zero never ends its line. */
const answerMostBytes = 100_000;

/** Ends the input where a line goes on beyond any answer: what follows is nobody's answer either. */
function endOverlong(input: NodeJS.ReadStream): void {
  let sinceLineEnd = 0;
  input.on('data', (chunk: Buffer) => {
    const lineEnd = chunk.lastIndexOf(0x0a);
    sinceLineEnd = lineEnd < 0 ? sinceLineEnd + chunk.length : chunk.length - lineEnd - 1;
    if (sinceLineEnd > answerMostBytes) input.destroy();
  });
}

/** Answers are read line by line; at the end of input, and once the person interrupts, every further question gets null. */
function makeAsk(interrupt: AbortSignal): World['ask'] {
  const waiting: ((line: string | null) => void)[] = [];
  const lines: string[] = [];
  let opening: Promise<void> | null = null;
  let ended = false;
  // Loaded with the first question: most commands ask none.
  const open = async (): Promise<void> => {
    const { createInterface } = await import('node:readline');
    endOverlong(process.stdin);
    const reader = createInterface({ input: process.stdin });
    process.stdin.on('close', () => reader.close());
    reader.on('line', (line) => {
      const next = waiting.shift();
      if (next) next(line);
      else lines.push(line);
      if (waiting.length === 0) process.stdin.pause();
    });
    reader.on('close', end);
    interrupt.addEventListener('abort', () => reader.close());
  };
  const end = (): void => {
    ended = true;
    for (const next of waiting.splice(0)) next(null);
  };
  return async (question) => {
    process.stderr.write(question);
    opening ??= open();
    await opening;
    const ready = lines.shift();
    if (ready !== undefined) return ready;
    if (ended || interrupt.aborted) return null;
    process.stdin.resume();
    return new Promise((settle) => waiting.push(settle));
  };
}

/** The first signal asks for an orderly end; the second ends at once. */
function interruptSignal(): AbortSignal {
  const asked = new AbortController();
  const onSignal = (): void => {
    if (asked.signal.aborted) process.exit(130);
    asked.abort();
  };
  for (const name of ['SIGINT', 'SIGTERM', 'SIGHUP'] as const) process.on(name, onSignal);
  return asked.signal;
}

function start(program: string, args: readonly string[]): Neighbour | null {
  const found = (process.env.PATH ?? '').split(process.platform === 'win32' ? ';' : ':').some((folder) => {
    try {
      return diskFiles.list(folder).includes(program);
    } catch {
      return false;
    }
  });
  if (!found) return null;
  const child = spawn(program, args, { stdio: ['pipe', 'pipe', 'pipe'] });
  let stderr = '';
  child.stderr.on('data', (chunk: Buffer) => {
    stderr = (stderr + chunk.toString('latin1')).slice(-4000);
  });
  child.stdin.on('error', () => {});
  return {
    write: (bytes) => child.stdin.write(bytes),
    onBytes: (listener) => child.stdout.on('data', (chunk: Buffer) => listener(chunk)),
    ended: new Promise((settle) => {
      child.on('error', () => settle({ exit: null, stderr }));
      child.on('close', (exit) => settle({ exit, stderr }));
    }),
    stop: () => child.kill(),
  };
}

export { endProcess } from './world-output.js';

const clock: Clock = {
  now: () => performance.now(),
  after: (ms, callback) => {
    const timer = setTimeout(callback, ms);
    return () => clearTimeout(timer);
  },
};

export function worldOfProcess(): World {
  const interrupt = interruptSignal();
  const stderr = outputOf(process.stderr);
  const modules = new Map<string, Promise<unknown>>();
  const loadModule = async (path: string): Promise<unknown> => {
    const { loadPlanModule } = await import('./world-plan-module.js');
    return loadPlanModule(path, { clock, interrupt, onPrint: (text) => stderr.write(safeText(text)) });
  };
  return {
    stdout: outputOf(process.stdout),
    stderr,
    ask: makeAsk(interrupt),
    files: diskFiles,
    readInput: (path) => readInput(path, clock, interrupt),
    clock,
    wallTime: () => new Date(),
    randomSeed: () => Math.floor(Math.random() * 0x1_0000_0000),
    environment: process.env,
    dataFolder: dataFolder(process.env, process.platform, homedir),
    openSerial: async (path, options) => (await import('../link/open-serial.js')).openSerial(path, options),
    lock: async (path) => {
      const { lockPort } = await import('../link/port-lock.js');
      const { lockFolder } = await import('../link/open-serial.js');
      return lockPort(lockFolder(), diskFiles.truePath(path), path);
    },
    listPorts: async () => {
      const { listPorts } = await import('../link/port-list.js');
      return (await listPorts()).ports.map((p) => ({
        path: p.path,
        about: [
          p.manufacturer,
          p.serialNumber && `serial ${p.serialNumber}`,
          p.vendorId && `${p.vendorId}:${p.productId}`,
        ]
          .filter(Boolean)
          .join(', '),
      }));
    },
    firmwareHex: () => readFileSync(new URL('../../firmware/romkiln-writer.hex', import.meta.url), 'latin1'),
    loadModule: (path) => {
      // One answer for all who ask: a module need not give the same twice.
      const asked = modules.get(path) ?? loadModule(path);
      modules.set(path, asked);
      return asked;
    },
    start,
    interrupt,
  };
}
