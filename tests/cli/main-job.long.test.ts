// The main job through the command line on larger chips, and on protected ones.
import { describe, expect, it } from 'vitest';
import { saveBenchState } from '../../src/emulator/bench-file.js';
import { applyFault } from '../../src/emulator/bench-state.js';
import { seededRandom } from '../../src/ground/random.js';
import { benchState, seatBench } from '../support/benches.js';
import { type FakeWorld, fakeWorld } from '../support/fake-world.js';
import { romkiln } from '../support/one-after-another.js';
import { mainJob } from './main-job.js';

const random = (count: number, seed = 1): Uint8Array => seededRandom(seed).bytes(count);
const worldWith = (files: Record<string, Uint8Array | string>): FakeWorld => fakeWorld({ initialFiles: files });

describe.each([
  { chip: 'AT28C64B', cells: 8192, cycleUs: 1000 },
  { chip: 'X28HC256', cells: 32768, cycleUs: 300 },
  { chip: 'CAT28C64B', cells: 8192, cycleUs: 1000 },
])('the main job on $chip', (seat) => {
  it('when an image is burned then it is verified, dumped and compared, and a changed byte is found', async () => {
    await mainJob(seat);
  });
});

describe('a protected chip', () => {
  it('when the chip is protected then the refusal is found out, and unprotect helps', async () => {
    const image = random(8192);
    const world = worldWith({ 'a.bin': image });
    const port = seatBench(world, 'b.json', 'AT28C64B', { cycleUs: 500, faults: [] });
    saveBenchState(world.files, 'b.json', applyFault(benchState(world, 'b.json'), 'protected'));
    const refused = await romkiln(world.files, 'burn', 'a.bin', '--port', port);
    expect(refused.exit).toBe(4);
    expect(refused.err).toContain('romkiln unprotect');
    expect(benchState(world, 'b.json').cells.every((b) => b === 0xff)).toBe(true);
    expect((await romkiln(world.files, 'unprotect', '--port', port)).exit).toBe(0);
    expect((await romkiln(world.files, 'burn', 'a.bin', '--port', port)).exit).toBe(0);
    expect(benchState(world, 'b.json').cells).toEqual(image);
  });

  it('when the prefix is asked for then a protected chip is written and stays protected', async () => {
    const image = random(8192);
    const world = worldWith({ 'a.bin': image });
    const port = seatBench(world, 'b.json', 'AT28C64B', { cycleUs: 500 });
    expect((await romkiln(world.files, 'protect', '--port', port)).exit).toBe(0);
    expect(benchState(world, 'b.json').protectionOn).toBe(true);
    expect((await romkiln(world.files, 'burn', 'a.bin', '--protected', '--port', port)).exit).toBe(0);
    expect(benchState(world, 'b.json')).toMatchObject({ protectionOn: true, cells: image });
  });
});
