// The second bench as a process: the firmware on simavr behind a pseudo-terminal, asked by lines, and the built tool that talks to it.
import { type ChildProcessWithoutNullStreams, execFileSync, spawn } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { createInterface } from 'node:readline';
import { fileURLToPath } from 'node:url';
import { systemFile, systemTool } from '../support/system-tools.js';

export const firmwareFolder = fileURLToPath(new URL('../../firmware', import.meta.url));
export const committedFirmware = join(firmwareFolder, 'romkiln-writer.hex');

/** Debian packages: gcc, make, libsimavr-dev, libelf-dev. */
export const hasSecondBench =
  systemTool('gcc') &&
  systemTool('make') &&
  systemFile('/usr/include/simavr/sim_avr.h') &&
  systemFile('/usr/include/libelf.h');

export const folder = mkdtempSync(join(tmpdir(), 'romkiln-second-bench-'));
export const inFolder = (name: string): string => join(folder, name);
const running = new Set<SecondBench>();

export function removeFolder(): void {
  for (const bench of running) bench.kill();
  rmSync(folder, { recursive: true, force: true });
}

let built = false;
function program(): string {
  if (!built)
    execFileSync('make', ['-s', '-C', firmwareFolder, 'second-bench', `B=${inFolder('build')}`], { stdio: 'pipe' });
  built = true;
  return inFolder('build/second-bench');
}

export interface BenchOptions {
  readonly chip: string;
  readonly firmware?: string;
  readonly loader?: string;
  readonly cycleUs?: number;
  readonly contents?: Uint8Array;
}

export interface MeasuredTime {
  readonly name: string;
  readonly worst: string;
  readonly demand: string;
  readonly breaches: number;
}

export interface BenchReport {
  readonly times: readonly MeasuredTime[];
  readonly faults: readonly string[];
  readonly fights: number;
  readonly breaches: number;
  readonly resets: number;
}

/** One row of the report: `time | name | worst | demand | breaches`. */
function timeOfLine(line: string): MeasuredTime {
  const [, name = '', worst = '', demand = '', breaches = ''] = line.split(' | ');
  return { name, worst, demand, breaches: Number(breaches) };
}

export class SecondBench {
  readonly port: string;
  readonly #child: ChildProcessWithoutNullStreams;
  readonly #lines: AsyncIterator<string>;

  constructor(name: string, options: BenchOptions) {
    this.port = inFolder(name);
    const words = [`port=${this.port}`, `chip=${options.chip}`, `firmware=${options.firmware ?? committedFirmware}`];
    if (options.loader) words.push(`loader=${options.loader}`);
    if (options.cycleUs) words.push(`cycle=${options.cycleUs}`);
    if (options.contents) {
      writeFileSync(`${this.port}.before`, options.contents);
      words.push(`cells=${this.port}.before`);
    }
    this.#child = spawn(program(), words);
    this.#lines = createInterface({ input: this.#child.stdout })[Symbol.asyncIterator]();
    running.add(this);
  }

  async start(): Promise<this> {
    await this.#until('ready');
    return this;
  }

  async #until(last: string): Promise<string[]> {
    const lines: string[] = [];
    for (;;) {
      const next = await this.#lines.next();
      if (next.done) throw new Error('the second bench has ended');
      if (next.value === last) return lines;
      lines.push(next.value);
    }
  }

  command(words: string): Promise<string[]> {
    this.#child.stdin.write(`${words}\n`);
    return this.#until('done');
  }

  async reset(): Promise<void> {
    await this.command('reset');
  }

  /** Lets so much time pass on the board. */
  async wait(ms: number): Promise<void> {
    await this.command(`wait ${ms}`);
  }

  async #saved(what: 'cells' | 'flash'): Promise<Buffer> {
    await this.command(`${what} ${this.port}.${what}`);
    return readFileSync(`${this.port}.${what}`);
  }

  cells(): Promise<Buffer> {
    return this.#saved('cells');
  }

  flash(): Promise<Buffer> {
    return this.#saved('flash');
  }

  async report(): Promise<BenchReport> {
    const lines = await this.command('report');
    const count = (word: string): number =>
      Number(lines.find((line) => line.startsWith(`${word} `))?.slice(word.length));
    return {
      times: lines.filter((line) => line.startsWith('time ')).map(timeOfLine),
      faults: lines.filter((line) => line.startsWith('fault ')),
      fights: count('fights'),
      breaches: count('breaches'),
      resets: count('resets'),
    };
  }

  kill(): void {
    running.delete(this);
    this.#child.kill();
  }
}

export const startSecondBench = (name: string, options: BenchOptions): Promise<SecondBench> =>
  new SecondBench(name, options).start();

export interface Ended {
  readonly exit: number | null;
  readonly out: string;
  readonly err: string;
}

/** The built program with these words; `answer` goes to its standard input. */
export function romkiln(words: readonly string[], answer = ''): Promise<Ended> {
  const child = spawn(process.execPath, ['bin/romkiln.js', ...words], {
    env: { ...process.env, XDG_DATA_HOME: inFolder('data') },
  });
  const said = { out: '', err: '' };
  child.stdout.on('data', (chunk: Buffer) => {
    said.out += chunk.toString('utf8');
  });
  child.stderr.on('data', (chunk: Buffer) => {
    said.err += chunk.toString('utf8');
  });
  child.stdin.on('error', () => {});
  child.stdin.end(answer);
  return new Promise((settle) => {
    child.on('close', (exit) => settle({ exit, ...said }));
  });
}

/** The firmware built from its sources with one text changed: a mutant that a judge must find. */
export function builtMutant(name: string, file: string, from: string, to: string): string {
  const copy = inFolder(`mutant-${name}`);
  execFileSync('cp', ['-r', firmwareFolder, copy]);
  const path = join(copy, 'src', file);
  const source = readFileSync(path, 'utf8');
  if (!source.includes(from)) throw new Error(`${file} no longer has: ${from}`);
  writeFileSync(path, source.replace(from, to));
  execFileSync('make', ['-s', '-C', copy, 'build/romkiln-writer.hex'], { stdio: 'pipe' });
  return join(copy, 'build/romkiln-writer.hex');
}
