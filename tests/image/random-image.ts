// Seeded images with holes, for tests that compare with other programs.
import type { Random } from '../../src/ground/random.js';
import type { Image } from '../../src/image/image.js';

/** Up to `cellsMax` cells in runs of bytes and holes; the first and last cell of the last run are defined. */
export function randomImage(random: Random, cellsMax: number): Image {
  const cells = 1 + random.below(cellsMax);
  const defined = new Uint8Array(cells);
  for (let cell = random.chance(0.5) ? 0 : random.below(cells); cell < cells; ) {
    const run = 1 + random.below(random.chance(0.3) ? 5 : 3000);
    defined.fill(1, cell, cell + run);
    cell += run + 1 + random.below(random.chance(0.5) ? 40 : 20_000);
  }
  return { name: 'random', bytes: random.bytes(cells), defined };
}
