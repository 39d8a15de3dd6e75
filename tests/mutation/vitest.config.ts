// The tests that mutation testing runs: those of one room, without what starts an emulator or a program, or reads 50 MB.
import { defineConfig } from 'vitest/config';

const room = process.env.ROOM ?? 'protocol';

export default defineConfig({
  test: {
    include: [`tests/${room}/**/*.test.ts`],
    exclude: ['**/on-emulated-bench.test.ts', '**/objcopy.test.ts', '**/corruption.test.ts'],
    testNamePattern: /^(?!.*(50 MB|512 KiB))/,
    testTimeout: 60_000,
  },
});
