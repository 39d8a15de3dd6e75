// The plan room against a second model of it: the bytes of random plans, some dozens here and hundreds in the long test.
import { describe, it } from 'vitest';
import { expectSameBytes } from './second-model-judge.js';

describe('random plans', () => {
  it('when a second model builds them then it comes to the same bytes', () => {
    for (let seed = 0; seed < 24; seed++) expectSameBytes(seed);
  });
});
