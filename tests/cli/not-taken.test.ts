// What is said where a chip is not there, or does not take what it is sent.
import { describe, expect, it } from 'vitest';
import { findPart } from '../../src/chip/chip-table.js';
import { parseWiringFault } from '../../src/chip/wiring-fault.js';
import { run } from '../../src/cli/run.js';
import { seededRandom } from '../../src/ground/random.js';
import type { MockChipOptions } from '../mock/mock-chip.js';
import { mockWriter } from '../mock/mock-writer.js';
import { benchState, seatBench } from '../support/benches.js';
import { fakeWorld } from '../support/fake-world.js';

function bench(chip: Partial<MockChipOptions> = {}, ...wires: string[]) {
  const part = findPart('AT28C64B');
  const mock = mockWriter({
    chip: { cells: part.cells, page: 64, cycleUs: 200, codes: true, contents: 0x3c, ...chip },
    wiring: wires.map(parseWiringFault),
  });
  const wanted = seededRandom(3).bytes(part.cells);
  const initialFiles = {
    'wanted.bin': wanted,
    'small.bin': wanted.slice(0, 2048),
    'blank.bin': wanted.map(() => 0xff),
  };
  const world = fakeWorld({ openSerial: mock.open, initialFiles });
  const tell = (command: string, ...words: string[]): Promise<number> =>
    run([command, ...words, '--port', 'bench', '--quiet'], world);
  return { world, tell, mock };
}

describe('an empty socket', () => {
  it.each([
    ['dump', '-o', 'dump.bin'],
    ['verify', 'blank.bin'],
    ['blank'],
    ['burn', 'wanted.bin'],
    ['erase'],
    ['protect'],
  ])('when it is asked to %s then no chip is there, and no file is written', async (command, ...words) => {
    const { world, tell } = bench({ faults: [{ kind: 'absent' }] });
    const files = [...world.files.stored.keys()];
    expect(await tell(command, ...words, '--chip', 'AT28C64B')).toBe(4);
    expect(world.err()).toContain('No chip drives the data lines');
    expect(world.out()).toBe('');
    expect([...world.files.stored.keys()].filter((name) => !name.startsWith('/data/'))).toEqual(files);
  });

  it('when one line alone is not driven then a dump is written, said to be no whole content, and ends with 4', async () => {
    const { world, tell } = bench({}, 'D3 open');
    expect(await tell('dump', '-o', 'dump.bin', '--chip', 'AT28C64B')).toBe(4);
    expect(world.err()).toContain('No chip drives D3');
    expect(world.files.stored.get('dump.bin')).toHaveLength(8192);
  });
});

describe('a burn through a stuck data line', () => {
  it.each([[], ['--discard']])(
    'when cells changed then the chip is not said to refuse, and the line is named %s',
    async (...more) => {
      const { world, tell } = bench({ contents: 0x00 }, 'D3 stuck 1');
      expect(await tell('burn', 'wanted.bin', '--chip', 'AT28C64B', ...more)).toBe(4);
      expect(world.err()).not.toContain('refuses writes');
      expect(world.out()).toContain('The failed cells differ on D3 alone, which reads 1 there');
      expect(world.out()).toContain('"romkiln rig --empty"');
      expect(world.out()).toContain('Stopped: pages failed in a row');
    },
  );

  it('when there is no page mode then the cells that were tried tell it', async () => {
    const { world, tell } = bench({ cells: 2048, page: 1, codes: false, contents: 0x00 }, 'D3 stuck 1');
    expect(await tell('burn', 'small.bin', '--chip', 'AT28C16')).toBe(4);
    expect(world.out()).toContain('The failed cells differ on D3 alone, which reads 1 there');
  });
});

describe('a protected chip', () => {
  it.each([
    ['AT28C64B', 'wanted.bin', '"romkiln unprotect" switches that off'],
    ['28C64', 'wanted.bin', '"romkiln unprotect --chip AT28C64B" switches that off'],
    ['28C16', 'small.bin', '"romkiln unprotect --chip <that part>" switches that off'],
  ])('when it is taken as %s then the refused burn names unprotect', async (chip, file, words) => {
    const { world, tell } = bench({ protected: true });
    expect(await tell('burn', file, '--chip', chip)).toBe(4);
    expect(world.err()).toContain('The chip refuses writes');
    expect(world.err()).toContain(words);
    expect(world.out()).not.toContain('differs on');
  });

  it('when it is erased then nothing is recommended that only burn can do', async () => {
    const { world, tell } = bench({ protected: true });
    expect(await tell('erase', '--range', '0x000..0x0FF', '--chip', 'AT28C64B')).toBe(4);
    expect(world.err()).toContain('"romkiln unprotect" switches that off. Otherwise');
    expect(world.err()).not.toContain('--protected');
  });

  it('when an old record of a smaller chip is restored onto it then the bench tells what it holds, and unprotect is named', async () => {
    const world = fakeWorld({ initialFiles: { 'small.bin': seededRandom(3).bytes(2048) } });
    const small = seatBench(world, 'small.json', 'AT28C16', { cycleUs: 200 });
    expect(await run(['burn', 'small.bin', '--port', small, '--quiet'], world)).toBe(0);
    const [record] = world.files.list('/data/keep/records');
    const large = seatBench(world, 'large.json', 'AT28C64B', {
      cycleUs: 200,
      contents: new Uint8Array(8192),
      faults: ['protected'],
    });
    expect(await run(['restore', record!.slice(0, 12), '--port', large, '--quiet'], world)).toBe(4);
    expect(world.err()).toContain('The bench holds AT28C64B (8192 cells), and it is taken as AT28C16 (2048 cells)');
    expect(world.err()).toContain('romkiln unprotect --chip <that part>');
    expect(benchState(world, 'large.json').cells.every((byte) => byte === 0)).toBe(true);
  });
});
