// The tests that mutation testing runs: those of one room, without what starts an emulator or a program, or reads 50 MB.
import { defineConfig } from 'vitest/config';

const room = process.env.ROOM ?? 'protocol';

export default defineConfig({
  test: {
    include: [`tests/${room}/**/*.test.ts`],
    exclude: ['on-emulated-bench', 'objcopy', 'corruption', 'large-file'].map((name) => `**/${name}.test.ts`),
    // Sources are loaded once for all test files of a run, which halves the time.
    isolate: false,
    testTimeout: 60_000,
  },
});
