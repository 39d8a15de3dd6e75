// A world in memory: what a command wrote, the files it sees, the answers it is given, the ports it may open.
import { readFileSync } from 'node:fs';
import type { Output, World } from '../../src/cli/world.js';
import { ToolError } from '../../src/ground/errors.js';
import { realClock } from '../../src/link/real-clock.js';
import { type MemoryFiles, memoryFiles } from './memory-files.js';

export interface FakeWorld extends World {
  readonly files: MemoryFiles;
  out(): string;
  err(): string;
  json(): unknown;
  interruptNow(): void;
}

export interface FakeWorldOptions extends Partial<Omit<World, 'files' | 'stdout' | 'stderr'>> {
  readonly initialFiles?: Readonly<Record<string, string | Uint8Array>>;
  readonly answers?: readonly string[];
  readonly ports?: readonly string[];
}

export function fakeWorld(options: FakeWorldOptions = {}): FakeWorld {
  const { initialFiles = {}, answers = [], ports = [], ...rest } = options;
  const written = { out: '', err: '' };
  const pending = [...answers];
  const interrupt = new AbortController();
  const writer = (stream: 'out' | 'err'): Output => ({
    write(text) {
      written[stream] += text;
    },
    isTerminal: false,
    columns: 100,
  });
  const files = memoryFiles(initialFiles);
  return {
    stdout: writer('out'),
    stderr: writer('err'),
    ask: async (question) => {
      written.err += question;
      return pending.shift() ?? null;
    },
    readInput: async (path) => files.read(path),
    clock: realClock,
    wallTime: () => new Date('2026-01-02T03:04:05Z'),
    randomSeed: () => 1,
    environment: {},
    dataFolder: '/data',
    openSerial: async (path) => {
      throw new ToolError('link.missing', { path } as never);
    },
    lock: async () => async () => {},
    listPorts: async () => ports.map((path) => ({ path, about: '' })),
    firmwareHex: () => readFileSync('firmware/romkiln-writer.hex', 'latin1'),
    loadModule: async (path) => {
      throw new ToolError('cli.file-missing', { path });
    },
    start: () => null,
    interrupt: interrupt.signal,
    ...rest,
    files,
    out: () => written.out,
    err: () => written.err,
    json: () => JSON.parse(written.out),
    interruptNow: () => interrupt.abort(),
  };
}
