import { defineConfig } from 'vitest/config';

export default defineConfig({
  test: {
    include: ['tests/**/*.test.ts'],
    // The native serial binding crashes the process in vmThreads; forks keep it apart from the runner.
    pool: 'forks',
    testTimeout: 60_000,
    hookTimeout: 120_000,
  },
});
