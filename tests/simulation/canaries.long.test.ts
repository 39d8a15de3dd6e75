// Every promise of the table stands in the README, and has a canary that breaks it and is caught.
import { readFileSync } from 'node:fs';
import { expect, it } from 'vitest';
import { type Canary, canaries } from './canaries.js';
import { mockBench } from './mock-bench.js';
import { promiseTable } from './promise-table.js';
import { drawScenario, mockSizes, type Scenario } from './scenario.js';
import { play, sizeOf } from './seed-run.js';

const readme = readFileSync('README.md', 'utf8').replace(/\s+/g, ' ');

it.each(promiseTable)('when promise $promise is held then the README makes it, and a canary breaks it', (row) => {
  expect(readme).toContain(row.says);
  expect(canaries.filter((c) => c.promise === row.promise).length).toBeGreaterThan(0);
});

it('when DEVELOPERS.md lists promises and canaries then it lists these', () => {
  const rows = [...readFileSync('DEVELOPERS.md', 'utf8').matchAll(/^\| (\d) \| (.*) \| (.*) \|$/gm)].map((m) =>
    m.slice(1),
  );
  const says = (promise: number): string => promiseTable.find((row) => row.promise === promise)!.says;
  expect(rows).toEqual(canaries.map(({ promise, what }) => [String(promise), says(promise), what]));
});

const most = 12;

/** Scenarios whose runs write a chip with nothing in their way. */
async function writingScenario(seed: number, { commands }: Canary): Promise<Scenario | null> {
  const drawn = drawScenario(seed, mockSizes);
  const steps = drawn.steps.filter((s) => commands?.includes(s.command) ?? true);
  if (drawn.said !== drawn.seated || steps.length === 0 || steps.some((s) => s.discards || s.dryRun)) return null;
  const scenario = { ...drawn, steps };
  const clean = await play(scenario, [], mockBench);
  const [first] = clean.ends;
  const writes = first?.end.exit === 0 && first.end.after.some((byte, i) => byte !== first.end.before[i]);
  return writes && clean.broken.length === 0 ? scenario : null;
}

it.each(canaries)('when $what then promise $promise is seen broken', async (canary) => {
  let tried = 0;
  for (let seed = 1; tried < most; seed++) {
    const scenario = await writingScenario(seed, canary);
    if (!scenario) continue;
    tried++;
    const troubles = canary.troubles?.(await sizeOf(scenario)) ?? [];
    const run = await play(scenario, troubles, canary.make ?? mockBench, canary.disk);
    if (run.broken.some((b) => b.promise === canary.promise)) return;
  }
  expect.unreachable(`no run of ${most} saw promise ${canary.promise} broken`);
});
