// The sweeps shortened: every case of the small ones, and now and then one of the large ones.
import { describe, expect, it } from 'vitest';
import { firmwareBench } from './firmware-bench.js';
import { mockBench } from './mock-bench.js';
import type { MakeBench } from './seed-run.js';
import { allCases, type Case, caseFailure, type SweepName, sweepTitles } from './sweeps.js';

/** Every so many cases of each sweep; odd numbers, so that all bits and both ways have their turn. */
const everyOnMock: Readonly<Record<SweepName, number>> = {
  pulled: 29,
  flipped: 191,
  cut: 29,
  lost: 29,
  reset: 1,
  power: 1,
};
const cases = await allCases();
const some = (sweep: SweepName, every: number): Case[] =>
  cases.filter((one) => one.sweep === sweep).filter((_, i) => i % every === 0);

async function failuresOf(chosen: readonly Case[], makeBench: MakeBench): Promise<string[]> {
  const failures = [];
  for (const one of chosen) {
    const failure = await caseFailure(one, makeBench);
    if (failure) failures.push(failure);
  }
  return failures;
}

describe('sweeps of a small burn', () => {
  it.each(Object.entries(everyOnMock) as [SweepName, number][])(
    'when it meets "%s" at every %i-th place then it comes through',
    async (sweep, every) => {
      const chosen = some(sweep, every);
      expect(chosen.length, sweepTitles[sweep]).toBeGreaterThan(2);
      expect(await failuresOf(chosen, mockBench)).toEqual([]);
    },
    120_000,
  );

  it('when bits flip on the way to and from the firmware then it comes through', async () => {
    expect(await failuresOf(some('flipped', 5003), firmwareBench)).toEqual([]);
  }, 120_000);
});
