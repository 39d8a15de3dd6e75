// A dozen whole runs, so that whoever changes a command hears soon of a promise that it breaks. Hundreds are in the long tests.
import { expect, it } from 'vitest';
import { failureText } from './failure.js';
import { runSeed } from './seed-run.js';

it('when a dozen seeds run on the mock then no promise is broken', async () => {
  const broken = [];
  for (let seed = 1; seed <= 12; seed++) {
    const run = await runSeed(seed);
    if (run.broken.length > 0) broken.push(failureText(run, run, ''));
  }
  expect(broken).toEqual([]);
});
