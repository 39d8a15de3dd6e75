// Loads a plan module in a process of its own: whatever it does, this one gets a plan, or one error of that plan.
import { type ChildProcess, spawn } from 'node:child_process';
import { realpathSync } from 'node:fs';
import { resolve } from 'node:path';
import type { Readable } from 'node:stream';
import { fileURLToPath } from 'node:url';
import { deserialize } from 'node:v8';
import type { Clock } from '../ground/clock.js';
import { ToolError } from '../ground/errors.js';
import { replayPlan } from '../plan/module-value.js';
import { answerChannel, type ModuleAnswer, type ModuleFault } from './world-plan-answer.js';

/** A plan is a table: its functions are called once for every setting, which takes a second at most. */
const limitMs = 30_000;

export interface ModuleLoad {
  readonly clock: Clock;
  readonly interrupt: AbortSignal;
  /** Hears what the module prints. */
  readonly onPrint: (text: string) => void;
  /** What the child runs. */
  readonly program?: string;
}

/** The value of the module's default export. Rejects with cli.plan-module or cli.interrupted. */
export async function loadPlanModule(path: string, load: ModuleLoad): Promise<unknown> {
  const program = load.program ?? fileURLToPath(new URL('./world-plan-child.js', import.meta.url));
  const child = spawn(process.execPath, ['--no-warnings', program, path], {
    stdio: ['ignore', 'pipe', 'pipe', 'pipe', 'pipe'],
  });
  const stop = (): void => void child.kill('SIGKILL');
  let isLate = false;
  const cancel = load.clock.after(limitMs, () => {
    isLate = true;
    stop();
  });
  load.interrupt.addEventListener('abort', stop);
  try {
    const { bytes, ended } = await answerOf(child, load);
    const isAsked = ['SIGINT', 'SIGTERM', 'SIGHUP'].includes(ended);
    if (load.interrupt.aborted || isAsked) throw new ToolError('cli.interrupted', { doing: `reading ${path}` });
    if (isLate) throw faultOf(path, { message: `it gives no plan within ${limitMs / 1000} s`, place: null });
    const answer = readAnswer(bytes);
    if (answer === null)
      throw faultOf(path, { message: `its process ended (${ended}) before its plan was there`, place: null });
    if ('fault' in answer) throw faultOf(path, answer.fault);
    return replayPlan(answer.plan);
  } finally {
    cancel();
    load.interrupt.removeEventListener('abort', stop);
    stop();
  }
}

/** What a program that the module started may hold open after the module has ended. */
const lastWordsMs = 200;

/** All that the child says on the channel, and how it ended; with its answer complete it is not waited for. */
function answerOf(child: ChildProcess, { onPrint, clock }: ModuleLoad): Promise<{ bytes: Buffer; ended: string }> {
  const pieces: Buffer[] = [];
  const channel = child.stdio[answerChannel] as Readable;
  channel.on('data', (piece: Buffer) => pieces.push(piece));
  for (const stream of [child.stdout!, child.stderr!]) stream.setEncoding('utf8').on('data', onPrint);
  return new Promise((settle, reject) => {
    child.on('error', reject);
    channel.on('end', () => {
      // What it left running ends here; what it printed still comes.
      if (pieces.length > 0) child.kill('SIGKILL');
    });
    child.on('exit', (exit, signal) => {
      const done = (): void => settle({ bytes: Buffer.concat(pieces), ended: signal ?? `exit ${exit}` });
      const cancel = clock.after(lastWordsMs, done);
      child.on('close', () => {
        cancel();
        done();
      });
    });
  });
}

function readAnswer(bytes: Buffer): ModuleAnswer | null {
  try {
    const answer: unknown = deserialize(bytes);
    return typeof answer === 'object' && answer !== null && ('plan' in answer || 'fault' in answer)
      ? (answer as ModuleAnswer)
      : null;
  } catch {
    return null;
  }
}

function faultOf(path: string, { message, place }: ModuleFault): ToolError {
  if (place === null) return new ToolError('cli.plan-module', { path, place: path, message });
  const file = place.file === realpathSync(resolve(path)) || place.file === resolve(path) ? path : place.file;
  return new ToolError('cli.plan-module', { path, place: `${file}:${place.line}:${place.column}`, message });
}
