// The rig check on emulated benches: every wiring fault set before anything is burned is found, or is named as one that it cannot see.
import { describe, expect, it } from 'vitest';
import { spellWiringFault } from '../../src/chip/wiring-fault.js';
import { run } from '../../src/cli/run.js';
import { seededRandom } from '../../src/ground/random.js';
import { singleFaults } from '../../src/suspect/wiring.js';
import { benchState, seatBench } from '../support/benches.js';
import { fakeWorld } from '../support/fake-world.js';

interface RigFacts {
  readonly sound: boolean;
  readonly explanations: readonly { readonly fault: Parameters<typeof spellWiringFault>[0] }[];
  readonly remarks: readonly string[];
  readonly unseen: readonly Parameters<typeof spellWiringFault>[0][];
}

async function rigWith(chip: string, faults: readonly string[], ...options: string[]) {
  const world = fakeWorld();
  const old = seededRandom(9).bytes(benchCells(chip));
  const port = seatBench(world, 'r.json', chip, { cycleUs: 200, contents: old, faults: [...faults] });
  const exit = await run(['rig', ...options, '--yes', '--port', port, '--json', '--quiet'], world);
  return { exit, facts: world.json() as RigFacts, old, now: benchState(world, 'r.json').cells, world };
}
const benchCells = (chip: string): number => (chip.includes('16') ? 2048 : 8192);

describe('the rig check with a scratch chip', () => {
  it.each(['AT28C16E', 'AT28C64B'])(
    'when the board is healthy then nothing wrong is seen and the bytes are as before: %s',
    async (chip) => {
      const { exit, facts, old, now } = await rigWith(chip, [], '--scratch');
      expect(facts).toMatchObject({ sound: true, explanations: [], remarks: [] });
      expect(exit).toBe(0);
      expect(now).toEqual(old);
    },
  );

  // A sample here; all of them in bench/.
  const sample = seededRandom(41);
  const faults = Array.from({ length: 10 }, () => spellWiringFault(sample.pick(singleFaults(11))));
  it.each([...new Set([...faults, 'D5 open', 'A3 open', 'A2 A9 crossed', 'D1 D2 shorted low', 'D6 D7 crossed'])])(
    'when the writer has %s then it is found, or named as unseen, and the true cells are as before',
    async (fault) => {
      const { exit, facts, old, now } = await rigWith('AT28C16', [fault], '--scratch');
      expect(now).toEqual(old);
      const named = facts.explanations.map((e) => spellWiringFault(e.fault));
      const unseen = facts.unseen.map(spellWiringFault);
      if (facts.sound) {
        expect(exit).toBe(0);
        expect(unseen).toContain(fault);
      } else {
        expect(exit).toBe(1);
        expect(named).toContain(fault);
      }
    },
  );

  it('when the chip is protected then it says so and blames no wire', async () => {
    const world = fakeWorld();
    const port = seatBench(world, 'r.json', 'AT28C64B', { cycleUs: 500 });
    expect(await run(['protect', '--port', port, '--quiet'], world)).toBe(0);
    expect(await run(['rig', '--scratch', '--yes', '--port', port, '--quiet'], world)).toBe(4);
    expect(world.err()).toContain('job.scratch-refuses');
  });

  it('when the person does not say yes then nothing is done', async () => {
    const world = fakeWorld({ answers: ['no'] });
    const port = seatBench(world, 'r.json', 'AT28C64B');
    expect(await run(['rig', '--scratch', '--port', port, '--quiet'], world)).toBe(130);
    expect(benchState(world, 'r.json').wear.every((w) => w === 0)).toBe(true);
  });
});

describe('the rig check with a reference chip', () => {
  it('when lines are permuted then the whole permutation is found', async () => {
    const world = fakeWorld();
    const known = seededRandom(12).bytes(8192);
    const port = seatBench(world, 'r.json', 'AT28C64B', {
      contents: known,
      faults: ['A0 A2 crossed', 'D1 D3 crossed'],
    });
    world.files.replace('known.bin', known);
    const exit = await run(['rig', '--reference', 'known.bin', '--yes', '--port', port, '--json', '--quiet'], world);
    expect(exit).toBe(1);
    const { reference } = world.json() as { reference: { explanations: { text: string }[] } };
    const texts = reference.explanations.map((e) => e.text).join(' ');
    expect(texts).toMatch(/A0.*A2/);
    expect(texts).toMatch(/D1.*D3/);
  });
});

describe('the rig check with an empty socket', () => {
  it('when nothing is wrong then registers and data lines are as they should be', async () => {
    const { exit, facts } = await rigWith('AT28C64B', ['absent'], '--empty');
    expect(facts).toMatchObject({ sound: true, remarks: [] });
    expect(exit).toBe(0);
  });
});
