import { describe, expect, it } from 'vitest';
import { nearNames } from '../../src/ground/near-names.js';

describe('near names', () => {
  it('when two neighbours are swapped or one letter is wrong then the name is near', () => {
    expect(nearNames('brun', ['burn', 'blank', 'dump'])).toEqual(['burn']);
    expect(nearNames('verfy', ['verify', 'burn'])).toEqual(['verify']);
    expect(nearNames('DUMP', ['dump'])).toEqual(['dump']);
  });

  it('when nothing is near then nothing is offered, however long the word', () => {
    expect(nearNames('zebra', ['burn', 'dump'])).toEqual([]);
    expect(nearNames('x'.repeat(100_000), ['burn'])).toEqual([]);
  });
});
