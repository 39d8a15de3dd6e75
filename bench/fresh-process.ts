// Measures in a process of its own: cold code, its own memory, its own CPU time.
import { type ChildProcess, spawn, spawnSync } from 'node:child_process';
import { fileURLToPath } from 'node:url';

export const top = fileURLToPath(new URL('..', import.meta.url));
const runner = fileURLToPath(new URL('run.js', import.meta.url));
const romkiln = fileURLToPath(new URL('../bin/romkiln.js', import.meta.url));

/** Runs `main(words)` of a file of this folder in a fresh process; what it prints is JSON. */
export function inFreshProcess<Result>(name: string, words: readonly string[] = []): Result {
  const child = spawnSync(process.execPath, [runner, name, ...words], { encoding: 'utf8', maxBuffer: 1 << 26 });
  if (child.status !== 0) throw new Error(`${name} failed: ${child.stderr}`);
  return JSON.parse(child.stdout) as Result;
}

/** The tool itself, as its user starts it, left running. */
export const startRomkiln = (words: readonly string[]): ChildProcess =>
  spawn(process.execPath, [romkiln, ...words], { stdio: ['ignore', 'ignore', 'pipe'] });

/** Wall time of one run of node with these words, milliseconds. */
export function wallMsOfNode(words: readonly string[]): number {
  const begin = performance.now();
  const { status, stderr } = spawnSync(process.execPath, words, { cwd: top, encoding: 'utf8' });
  if (status !== 0) throw new Error(`node ${words.join(' ')} failed: ${stderr}`);
  return performance.now() - begin;
}

/** CPU milliseconds that this process spends on `work`, all its threads together. */
export function cpuMsOf(work: () => void): number {
  const before = process.cpuUsage();
  work();
  const { user, system } = process.cpuUsage(before);
  return (user + system) / 1000;
}

export const median = (values: readonly number[]): number =>
  [...values].sort((a, b) => a - b)[Math.floor(values.length / 2)]!;

/** Medians of several works that are measured in turn, so that all meet the same weather on the machine. */
export function inTurn<Name extends string>(rounds: number, works: Record<Name, () => number>): Record<Name, number> {
  const names = Object.keys(works) as Name[];
  const found = new Map<Name, number[]>(names.map((name) => [name, []]));
  for (let round = 0; round < rounds; round++) for (const name of names) found.get(name)!.push(works[name]());
  return Object.fromEntries(names.map((name) => [name, median(found.get(name)!)])) as Record<Name, number>;
}
