// What a series of seeds tried, by kind, and what it found: counted in each process and added up at the end.
import type { SeedRun } from './seed-run.js';

export interface Tally {
  seeds: number;
  commands: number;
  longestMs: number;
  /** Counts by name: commands with their exits, troubles by kind, parts. */
  readonly ends: Record<string, number>;
  readonly troubles: Record<string, number>;
  readonly parts: Record<string, number>;
  readonly failures: { readonly seed: number; readonly text: string }[];
}

export const newTally = (): Tally => ({
  seeds: 0,
  commands: 0,
  longestMs: 0,
  ends: {},
  troubles: {},
  parts: {},
  failures: [],
});

const count = (counts: Record<string, number>, name: string, by = 1): void => {
  counts[name] = (counts[name] ?? 0) + by;
};

export function countRun(tally: Tally, run: SeedRun): void {
  tally.seeds++;
  count(tally.parts, run.scenario.said.name);
  for (const trouble of run.troubles) count(tally.troubles, trouble.kind);
  if (run.troubles.length === 0) count(tally.troubles, 'nothing at all');
  for (const { end } of run.ends) {
    tally.commands++;
    tally.longestMs = Math.max(tally.longestMs, end.ms);
    count(tally.ends, `${end.step.command} ${end.exit ?? 'never'}`);
  }
}

export function addTally(sum: Tally, other: Tally): void {
  sum.seeds += other.seeds;
  sum.commands += other.commands;
  sum.longestMs = Math.max(sum.longestMs, other.longestMs);
  for (const name of ['ends', 'troubles', 'parts'] as const)
    for (const [key, by] of Object.entries(other[name])) count(sum[name], key, by);
  sum.failures.push(...other.failures);
}

const listed = (counts: Readonly<Record<string, number>>): string =>
  Object.entries(counts)
    .sort(([a], [b]) => (a < b ? -1 : 1))
    .map(([name, n]) => `${name}: ${n}`)
    .join(', ');

/** The exits of each command: "burn 0: 12, 3: 4". */
function endsText(ends: Readonly<Record<string, number>>): string {
  const byCommand = new Map<string, string[]>();
  for (const [key, n] of Object.entries(ends).sort(([a], [b]) => (a < b ? -1 : 1))) {
    const [command = '', exit = ''] = key.split(' ');
    byCommand.set(command, [...(byCommand.get(command) ?? []), `${n} ended ${exit}`]);
  }
  return [...byCommand].map(([command, exits]) => `  ${command}: ${exits.join(', ')}\n`).join('');
}

export function tallyText(tally: Tally, seconds: number): string {
  const found = tally.failures.length;
  return [
    `${tally.seeds} seeds, ${tally.commands} commands in ${Math.round(seconds)} s; the longest took ${(tally.longestMs / 1000).toFixed(1)} s of its own time.\n`,
    `Commands and how they ended:\n${endsText(tally.ends)}`,
    `What went wrong around them: ${listed(tally.troubles)}\n`,
    `Parts: ${listed(tally.parts)}\n`,
    found === 0 ? 'No promise was broken.\n' : `Promises were broken in ${found} ${found === 1 ? 'seed' : 'seeds'}:\n`,
    ...tally.failures.map((f) => f.text),
  ].join('');
}
