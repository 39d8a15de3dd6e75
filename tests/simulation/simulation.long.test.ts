// Seeds drawn from the commit on the mock and on the real firmware, and canaries: runs in which a promise is broken on purpose.
import { spawnSync } from 'node:child_process';
import { describe, expect, it } from 'vitest';
import { LyingChip, StrayChip } from './canaries.js';
import { failureText, shrunken } from './failure.js';
import { firmwareBench } from './firmware-bench.js';
import { mockBench } from './mock-bench.js';
import { viewsOf } from './presented.js';
import { drawScenario, firmwareSizes, mockSizes } from './scenario.js';
import { type MakeBench, play, runSeed, type SeedRun } from './seed-run.js';

/** The commit's first 32 bits, so that every commit tries other seeds and the same commit the same ones. */
function seedOfCommit(): number {
  const { stdout } = spawnSync('git', ['rev-parse', 'HEAD'], { encoding: 'utf8' });
  return /^[0-9a-f]{40}/.test(stdout ?? '') ? Number.parseInt(stdout.slice(0, 8), 16) : 20260102;
}

const first = seedOfCommit();

/** One block of the CI's seeds: what is broken is told with the command that plays it again. */
async function told(from: number, count: number, make: MakeBench, options: string): Promise<string> {
  let text = '';
  for (let seed = from; seed < from + count; seed++) {
    const run = await runSeed(seed, make, options === '' ? mockSizes : firmwareSizes);
    if (run.broken.length > 0) text += failureText(run, await shrunken(run, make), options);
  }
  return text;
}

describe('seeds of this commit', () => {
  process.stdout.write(`simulation: seeds ${first} to ${first + 449} on the mock, to ${first + 49} on the firmware\n`);

  it.each([0, 1, 2])(
    'when 150 seeds run on the mock then no promise is broken (block %i)',
    async (block) => {
      expect(await told(first + 150 * block, 150, mockBench, '')).toBe('');
    },
    300_000,
  );

  it.each([0, 1])(
    'when 25 seeds run on the firmware then no promise is broken (block %i)',
    async (block) => {
      expect(await told(first + 25 * block, 25, firmwareBench, ' --firmware')).toBe('');
    },
    600_000,
  );

  it('when a seed runs twice then everything is the same', async () => {
    for (const make of [mockBench, firmwareBench]) {
      const story = async () => (await runSeed(first, make, firmwareSizes)).ends.map(({ end }) => end);
      expect(await story()).toEqual(await story());
    }
  }, 120_000);
});

it('when two address lines are open then the chip may look to the writer in four ways, one for the levels of both', () => {
  const open = (['A6', 'A9'] as const).map((line) => ({ kind: 'open' as const, line }));
  const behind = viewsOf(1024, 1024, open).map(({ cellAt }) => [cellAt[0], cellAt[0x3ff]]);
  expect(behind).toEqual([
    [0x000, 0x1bf],
    [0x040, 0x1ff],
    [0x200, 0x3bf],
    [0x240, 0x3ff],
  ]);
});

it.each([[{ kind: 'shorted', lines: ['D1', 'D4'], wins: 'low' }], [{ kind: 'crossed', lines: ['D1', 'D4'] }]] as const)(
  'when an unsteady bit reaches another line too (%j) then nothing is asked of either',
  async (fault) => {
    for (let seed = 1, found = 0; found < 6; seed++) {
      const drawn = drawScenario(seed, mockSizes);
      const scenario = { ...drawn, steps: drawn.steps.filter((s) => s.command === 'dump') };
      const [step] = scenario.steps;
      if (!step || scenario.said !== scenario.seated) continue;
      found++;
      const run = await play(
        scenario,
        [
          { at: 'chip', kind: 'unsteady', address: step.from, bit: 4 },
          { at: 'wires', kind: 'miswired', fault },
        ],
        mockBench,
      );
      expect(run.broken).toEqual([]);
    }
  },
);

describe('canaries', () => {
  /** The seeds whose runs write something and meet no trouble at all. */
  const runsOn = async (make: MakeBench): Promise<SeedRun[]> => {
    const runs: SeedRun[] = [];
    for (let seed = 1; runs.length < 5; seed++) {
      const scenario = drawScenario(seed, mockSizes);
      const clean = await play(scenario, [], mockBench);
      const writes = clean.ends.some(
        ({ end }) => end.exit === 0 && end.after.some((byte, i) => byte !== end.before[i]),
      );
      if (writes) runs.push(await play(scenario, [], make));
    }
    return runs;
  };
  const promises = (run: SeedRun): number[] => run.broken.map((b) => b.promise);

  it('when a chip shows what it did not store then promise 1 is seen broken in every run', async () => {
    const runs = await runsOn((scenario, troubles) => mockBench(scenario, troubles, (o) => new LyingChip(o)));
    for (const run of runs) expect(promises(run)).toContain(1);
  });

  it('when a write changes a cell far away then promises 2 and 5 are seen broken', async () => {
    const runs = await runsOn((scenario, troubles) => mockBench(scenario, troubles, (o) => new StrayChip(o)));
    for (const run of runs) expect(promises(run)).toContain(2);
    // A run that was asked to keep nothing loses nothing that was promised.
    expect(runs.filter((run) => promises(run).includes(5)).length).toBeGreaterThan(2);
  });

  it('when the rig check leaves a cell otherwise than it was and does not know it then promise 2 is seen broken', async () => {
    for (let seed = 1, found = 0; found < 3; seed++) {
      const drawn = drawScenario(seed, mockSizes);
      const scenario = { ...drawn, steps: drawn.steps.filter((s) => s.command === 'rig') };
      if (scenario.steps.length === 0) continue;
      found++;
      const lying = await play(scenario, [], () => mockBench(scenario, [], (o) => new LyingChip(o)));
      expect(promises(lying)).toContain(2);
      expect(promises(await play(scenario, [], mockBench))).toEqual([]);
    }
  });

  it('when a canary is caught in a crowd of troubles then it is told without them, with the command that plays it again', async () => {
    const make: MakeBench = (scenario, troubles) => mockBench(scenario, troubles, (o) => new LyingChip(o));
    for (let seed = 1; ; seed++) {
      const run = await runSeed(seed, make);
      if (run.troubles.length < 4 || !promises(run).includes(1)) continue;
      const least = await shrunken(run, make);
      expect(least.troubles.length).toBeLessThan(run.troubles.length);
      expect(failureText(run, least, '')).toMatch(
        /PROMISE 1: .*\n(.*\n)* {2}Again: npm run simulate -- --seed \d+ --only/,
      );
      break;
    }
  });
});
