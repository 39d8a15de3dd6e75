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

  it('when several names are near then the nearest comes first, at most three', () => {
    expect(nearNames('line1', ['line12', 'line1', 'lane1', 'line2', 'lint2'])).toEqual(['line1', 'line12', 'lane1']);
  });

  it('when names are very long or very many then an answer still comes', () => {
    expect(nearNames('x'.repeat(100_000), ['y'.repeat(100_000)])).toEqual([]);
    expect(
      nearNames(
        'name5',
        Array.from({ length: 100_000 }, (_, i) => `name${i}`),
      )[0],
    ).toBe('name5');
  });
});
