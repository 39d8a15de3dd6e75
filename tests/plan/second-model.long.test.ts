// The plan room against a second model of it, for hundreds of random plans.
import { describe, it } from 'vitest';
import { expectSameBytes } from './second-model-judge.js';

describe('hundreds of random plans', () => {
  it('when a second model builds them then it comes to the same bytes', () => {
    for (let seed = 1000; seed < 1400; seed++) expectSameBytes(seed);
  });
});
