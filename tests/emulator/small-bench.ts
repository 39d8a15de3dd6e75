// A bench for tests: a small part, a hand-assembled program, nothing saved.
import { findPart } from '../../src/chip/chip-table.js';
import { type NewBench, newBenchState } from '../../src/emulator/bench-state.js';
import { EmulatedBench } from '../../src/emulator/emulated-bench.js';
import { hexOfWords } from './avr-program.js';

export function benchRunning(program: readonly number[], options: Partial<NewBench> & { partName?: string } = {}) {
  const { partName = 'AT28C64B', ...rest } = options;
  const state = newBenchState({ part: findPart(partName), ...rest });
  return new EmulatedBench({ state, firmware: hexOfWords(program) });
}

/** Runs for `ms` of the bench's time and gives what the writer sent meanwhile. */
export function runFor(bench: EmulatedBench, ms: number): Uint8Array {
  const end = bench.cycles + ms * 16_000;
  const sent: number[] = [];
  while (bench.cycles < end) {
    bench.advance(end);
    sent.push(...bench.line.take(bench.cycles));
  }
  return Uint8Array.from(sent);
}

export const rulesBroken = (bench: EmulatedBench): string[] => [...new Set(bench.violations.map((v) => v.rule))];
