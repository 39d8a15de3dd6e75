// Ctrl-C and the signal of a shutdown, sent to the built program while it waits for something that may never come.
import { type ChildProcess, spawn, spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { systemTool } from '../support/system-tools.js';

let folder = '';
const running = new Set<ChildProcess>();
const inFolder = (name: string): string => join(folder, name);

beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'romkiln-signals-'));
});
afterEach(() => {
  for (const child of running) child.kill('SIGKILL');
  running.clear();
  rmSync(folder, { recursive: true, force: true });
});

function start(program: string, words: readonly string[]): ChildProcess {
  const child = spawn(program, words, { env: { ...process.env, XDG_DATA_HOME: inFolder('data') } });
  running.add(child);
  return child;
}

/** Runs the program; `interrupt` sends it the signal. */
function romkiln(signal: NodeJS.Signals, ...words: string[]) {
  const child = start(process.execPath, ['bin/romkiln.cjs', ...words]);
  let err = '';
  child.stderr!.on('data', (chunk: Buffer) => {
    err += chunk.toString('utf8');
  });
  const ended = new Promise<{ exit: number | null; err: string }>((settle) => {
    child.on('close', (exit) => settle({ exit, err }));
  });
  return { child, ended, interrupt: () => void child.kill(signal) };
}

const interrupted = { exit: 130, err: expect.stringMatching(/^romkiln: [^\n]*\n[^\n]*\[[a-z]+\.interrupted\]\n$/) };

describe.each(['SIGINT', 'SIGTERM'] as const)('when %s comes', (signal) => {
  it.skipIf(!systemTool('mkfifo'))('while nobody writes into the pipe that is read, then the exit is 130', async () => {
    spawnSync('mkfifo', [inFolder('input')]);
    writeFileSync(inFolder('image.bin'), 'x');
    const { ended, interrupt } = romkiln(signal, 'compare', inFolder('input'), inFolder('image.bin'));
    // The shell can open the pipe only once the program reads it.
    const writer = start('sh', ['-c', 'exec 3>"$0"; echo open; read end', inFolder('input')]);
    writer.stdout!.once('data', interrupt);
    expect(await ended).toEqual(interrupted);
  });

  it.skipIf(!systemTool('socat'))('while the writer does not greet, then the exit is 130', async () => {
    const port = inFolder('port');
    const line = start('socat', ['-d', '-d', `PTY,link=${port},raw,echo=0`, '-']);
    await new Promise((open) => line.stderr!.once('data', open));
    const { ended, interrupt } = romkiln(signal, 'blank', '--chip', 'AT28C16', '--port', port);
    line.stdout!.once('data', interrupt);
    expect(await ended).toEqual(interrupted);
  });

  it('while a plan module never ends, then the exit is 130', async () => {
    const path = inFolder('endless.mjs');
    writeFileSync(path, 'console.log("begun"); for (;;);\n');
    const { child, ended, interrupt } = romkiln(signal, 'check', path);
    child.stderr!.once('data', interrupt);
    const { exit, err } = await ended;
    expect([exit, err]).toEqual([130, expect.stringMatching(/^begun\n.*\[cli\.interrupted\]\n$/s)]);
  });
});
