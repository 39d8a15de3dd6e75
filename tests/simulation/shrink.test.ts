// Delta debugging ends with the least list that still fails.
import { describe, expect, it } from 'vitest';
import { shrink } from './shrink.js';

const numbers = Array.from({ length: 40 }, (_, i) => i);

describe('shrinking', () => {
  it.each([[[7]], [[0, 39]], [[3, 17, 18]]])('when %j together fail then just these are left', async (needed) => {
    let tried = 0;
    const left = await shrink(numbers, async (some) => {
      tried++;
      return needed.every((n) => some.includes(n));
    });
    expect(left).toEqual(needed);
    expect(tried).toBeLessThan(200);
  });

  it('when it fails with nothing at all then nothing is left', async () => {
    expect(await shrink(numbers, async () => true)).toEqual([]);
  });
});
