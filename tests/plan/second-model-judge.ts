// Builds a random plan twice, with the product and with the second model, and compares every cell of every ROM.
import { expect } from 'vitest';
import { buildPlan, readPlan } from '../../src/plan/plan.js';
import { judgedPlan } from './second-model.js';

export function expectSameBytes(seed: number): void {
  const { yaml, files, roms } = judgedPlan(seed);
  const built = buildPlan(readPlan(yaml, `seed-${seed}.yaml`, (name) => files[name]!));
  expect(built.map((b) => b.name)).toEqual(Object.keys(roms));
  for (const { name, image } of built) {
    const cells = [...image.bytes].map((byte, cell) => (image.defined[cell] ? byte : null));
    expect(cells, `seed ${seed}, ${name}\n${yaml}`).toEqual(roms[name]);
  }
}
