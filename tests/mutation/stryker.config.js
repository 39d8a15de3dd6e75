// Mutation testing of one room, named by ROOM: its own unit tests, on the mock alone, must notice every change of its code.
const room = process.env.ROOM ?? 'protocol';

export default {
  testRunner: 'vitest',
  plugins: ['@stryker-mutator/vitest-runner'],
  vitest: { configFile: 'tests/mutation/vitest.config.ts', related: false },
  mutate: [`src/${room}/**/*.ts`, '!src/**/*.d.ts'],
  coverageAnalysis: 'perTest',
  // A table that is made when its file is loaded would want a process of its own for each change.
  ignoreStatic: true,
  incremental: true,
  incrementalFile: `reports/mutation/${room}-so-far.json`,
  concurrency: 2,
  timeoutMS: 10_000,
  reporters: ['clear-text', 'json', 'progress-append-only'],
  clearTextReporter: { allowColor: false, logTests: false, reportTests: false },
  jsonReporter: { fileName: `reports/mutation/${room}.json` },
  tempDirName: '.stryker-tmp',
  // It would rewrite tsconfig.json through an interface that this compiler no longer has; nothing here needs that.
  tsconfigFile: 'none',
};
