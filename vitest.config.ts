import { defineConfig } from 'vitest/config';

const long = 'tests/**/*.long.test.ts';

export default defineConfig({
  test: {
    // The native serial binding crashes the process in vmThreads; forks keep it apart from the runner.
    pool: 'forks',
    // Every file takes what it touches as functions, so files can share a process: half the time on two cores.
    isolate: false,
    maxWorkers: 2,
    testTimeout: 60_000,
    hookTimeout: 120_000,
    projects: [
      { extends: true, test: { name: 'quick', include: ['tests/**/*.test.ts'], exclude: [long] } },
      // What takes more than about two seconds of processor time.
      { extends: true, test: { name: 'long', include: [long], testTimeout: 600_000 } },
    ],
  },
});
