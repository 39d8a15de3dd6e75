// romkiln emulate: a bench is never lost to a new one, and what was done to it is said.
import { describe, expect, it } from 'vitest';
import { run } from '../../src/cli/run.js';
import { faultShapes, parseFault, spellFault } from '../../src/emulator/chip-fault.js';
import { benchState, seatBench } from '../support/benches.js';
import { fakeWorld } from '../support/fake-world.js';

describe('emulate new', () => {
  it('when the file is there already then it is refused, and the file is as it was', async () => {
    for (const there of ['an old bench', new Uint8Array()]) {
      const world = fakeWorld({ initialFiles: { 'b.json': there } });
      const before = world.files.read('b.json');
      expect(await run(['emulate', 'new', 'b.json', '--chip', 'AT28C16'], world)).toBe(2);
      expect(world.err()).toBe(
        'romkiln: b.json is there already, and would be lost. Nothing was written.\n  Remove the file first, or choose another name.  [cli.file-in-the-way]\n',
      );
      expect(world.files.read('b.json')).toBe(before);
      expect(world.out()).toBe('');
    }
  });

  it('when it begins with faults then each is said', async () => {
    const world = fakeWorld();
    const words = ['--fault', 'a4 open', '--fault', 'decayed 3'];
    expect(await run(['emulate', 'new', 'b.json', '--chip', 'AT28C16', ...words], world)).toBe(0);
    expect(world.out()).toContain('Done: A4 open (');
    expect(world.out()).toContain('Done: decayed 0x003 (');
  });
});

describe('emulate fault', () => {
  it('when a cell decays then the answer says so, though no fault lasts', async () => {
    const world = fakeWorld();
    seatBench(world, 'b.json', 'AT28C16');
    expect(await run(['emulate', 'fault', 'b.json', 'decayed 0x0c0'], world)).toBe(0);
    expect(world.out()).toMatch(/^Done: decayed 0x0C0 \(one bit of this cell flips, once; .*heals it\)\.$/m);
    expect(world.out()).toContain('faults: none');
    expect(benchState(world, 'b.json').cells[0xc0]).not.toBe(0xff);
  });

  it('when faults are taken away then that is said, with --json too', async () => {
    const world = fakeWorld();
    seatBench(world, 'b.json', 'AT28C16', { faults: ['slow'] });
    expect(await run(['emulate', 'fault', 'b.json', 'none', '--json'], world)).toBe(0);
    expect(world.json()).toMatchObject({ done: [{ fault: 'none' }], bench: { faults: [] } });
  });

  it('when help is asked for then every fault stands there in words that are read', async () => {
    const world = fakeWorld();
    expect(await run(['emulate', '--help'], world)).toBe(0);
    for (const [kind, { example, effect }] of Object.entries(faultShapes)) {
      expect(world.out()).toContain(example);
      expect(world.out()).toContain(effect);
      const fault = parseFault(example, 0x8000);
      expect(fault.kind).toBe(kind);
      expect(parseFault(spellFault(fault, 0x8000), 0x8000)).toEqual(fault);
    }
  });
});
