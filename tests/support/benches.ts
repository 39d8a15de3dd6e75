// Emulated benches as a command finds them: a bench file in the files of a fake world.
import { findPart } from '../../src/chip/chip-table.js';
import { readBenchState, saveBenchState } from '../../src/emulator/bench-file.js';
import { type BenchState, type NewBench, newBenchState } from '../../src/emulator/bench-state.js';
import type { FakeWorld } from './fake-world.js';

/** Puts a new bench under `path`; `emulated:<path>` is its port. */
export function seatBench(
  world: FakeWorld,
  path: string,
  chip: string,
  more: Partial<Omit<NewBench, 'part'>> = {},
): string {
  saveBenchState(world.files, path, newBenchState({ part: findPart(chip), ...more }));
  return `emulated:${path}`;
}

export const benchState = (world: FakeWorld, path: string): BenchState => readBenchState(world.files, path);
