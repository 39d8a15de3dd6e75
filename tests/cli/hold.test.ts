// romkiln hold: what it says to be held is held, and what the writer has no lines for is refused.
import { describe, expect, it } from 'vitest';
import { run } from '../../src/cli/run.js';
import { seatBench } from '../support/benches.js';
import { fakeWorld } from '../support/fake-world.js';

async function hold(address: string, bench: { registers?: 2 | 3; chainReturn?: boolean } = {}) {
  const world = fakeWorld();
  const port = seatBench(world, 'h.json', 'AT28C16', bench);
  return { exit: await run(['hold', address, '--port', port], world), out: world.out(), err: world.err() };
}

describe('an address to be held', () => {
  it('when the registers have lines for it then it is held, and the first one beyond is refused with the largest', async () => {
    expect(await hold('0xFFFF')).toMatchObject({ exit: 0, out: expect.stringContaining('Held: address 0xFFFF (') });
    const { exit, out, err } = await hold('0x10000');
    expect([exit, out]).toEqual([2, '']);
    expect(err).toContain(
      'romkiln: 0x10000 is beyond the address lines of this writer: with 2 registers of 8 lines it holds addresses up to 0xFFFF. Nothing was held.\n',
    );
    expect(err).toContain('cli.hold-beyond');
  });

  it('when there is a third register, or the registers are not counted, then more addresses are held', async () => {
    for (const bench of [{ registers: 3 }, { chainReturn: false }] as const)
      expect(await hold('0x10000', bench)).toMatchObject({
        exit: 0,
        out: expect.stringContaining('address 0x10000 ('),
      });
  });
});
