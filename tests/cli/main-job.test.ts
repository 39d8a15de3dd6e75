// The main job through the command line, the real firmware on the emulated bench, with the files in memory: on the smallest chip.
import { describe, expect, it } from 'vitest';
import { run } from '../../src/cli/run.js';
import { seededRandom } from '../../src/ground/random.js';
import { benchState, seatBench } from '../support/benches.js';
import { type FakeWorld, fakeWorld } from '../support/fake-world.js';
import { romkiln } from '../support/one-after-another.js';
import { mainJob } from './main-job.js';

const random = (count: number, seed = 1): Uint8Array => seededRandom(seed).bytes(count);
const worldWith = (files: Record<string, Uint8Array | string>): FakeWorld => fakeWorld({ initialFiles: files });

describe('the main job on AT28C16E', () => {
  it('when an image is burned then it is verified, dumped and compared, and a changed byte is found', async () => {
    await mainJob({ chip: 'AT28C16E', cells: 2048, cycleUs: 200 });
  });
});

describe('burning', () => {
  it('when the chip needs three registers then A16 reaches it', async () => {
    const image = random(131072);
    const world = worldWith({ 'a.bin': image });
    const port = seatBench(world, 'b.json', 'AT28C010', { cycleUs: 300 });
    const burned = await romkiln(world.files, 'burn', 'a.bin', '--range', '0xff80..0x100ff', '--port', port, '--json');
    expect(burned.json()).toMatchObject({ verified: true, pages: { total: 3, written: 3 } });
    const { cells } = benchState(world, 'b.json');
    expect(cells.subarray(0xff80, 0x10100)).toEqual(image.subarray(0xff80, 0x10100));
    expect(cells.subarray(0, 0xff80).every((b) => b === 0xff)).toBe(true);
    expect(cells.subarray(0x10100).every((b) => b === 0xff)).toBe(true);
  });

  it('when too few registers are fitted then it is refused before anything is written', async () => {
    const world = worldWith({ 'a.bin': random(131072) });
    const port = seatBench(world, 'b.json', 'AT28C010', { registers: 2 });
    const burned = await romkiln(world.files, 'burn', 'a.bin', '--port', port);
    expect(burned.exit).toBe(4);
    expect(burned.err).toContain('17 address lines');
    expect(benchState(world, 'b.json').wear.every((w) => w === 0)).toBe(true);
  });

  it('when the registers are said otherwise than the writer counts them then the count is taken, and that is said', async () => {
    const world = worldWith({});
    const port = seatBench(world, 'b.json', 'AT28C16');
    const loud = fakeWorld({ initialFiles: Object.fromEntries(world.files.stored) });
    expect(await run(['blank', '--registers', '3', '--port', port], loud)).toBe(0);
    expect(loud.err()).toContain('The writer counts 2 address registers; what --registers says is not used.');
  });

  it('when bytes are not defined then they are not changed', async () => {
    // Three bytes at 0x10 and one at 0x1F0: records of the Intel format with sums computed by hand.
    const hex = ':03001000112233' + '87\n:0101F0005AB4\n:00000001FF\n';
    const old = random(8192, 3);
    const world = worldWith({ 'a.hex': hex });
    const port = seatBench(world, 'b.json', 'AT28C64B', { cycleUs: 500, contents: old });
    const burned = await romkiln(world.files, 'burn', 'a.hex', '--port', port, '--json');
    expect(burned.json()).toMatchObject({ verified: true, pages: { total: 2, written: 2, skipped: 0 } });
    const wanted = old.slice();
    wanted.set([0x11, 0x22, 0x33], 0x10);
    wanted[0x1f0] = 0x5a;
    expect(benchState(world, 'b.json').cells).toEqual(wanted);
  });

  it('when it is only a dry run then nothing is written and nothing kept', async () => {
    const world = worldWith({ 'a.bin': random(2048) });
    const port = seatBench(world, 'b.json', 'AT28C16E');
    const dry = await romkiln(world.files, 'burn', 'a.bin', '--dry-run', '--port', port, '--json');
    expect(dry.exit).toBe(0);
    expect(dry.json()).toMatchObject({ dryRun: true, pages: { total: 32, toWrite: 32 } });
    expect(benchState(world, 'b.json').cells.every((b) => b === 0xff)).toBe(true);
    expect(world.files.list('/data/keep/records')).toEqual([]);
  });

  it('when something is overwritten then restore brings it back', async () => {
    const old = random(2048, 4);
    const world = worldWith({ 'a.bin': random(2048, 5) });
    const port = seatBench(world, 'b.json', 'AT28C16E', { contents: old });
    const burned = await romkiln(world.files, 'burn', 'a.bin', '--port', port, '--label', 'U7', '--json');
    const restored = await romkiln(world.files, 'restore', burned.json().kept, '--port', port, '--label', 'U7');
    expect(restored.exit).toBe(0);
    expect(benchState(world, 'b.json').cells).toEqual(old);
    const book = (await romkiln(world.files, 'book', '--label', 'U7', '--json')).json();
    expect(book.entries.map((e: { command: string }) => e.command)).toEqual(['burn', 'restore']);
    expect(book.mostWritten.times).toBe(2);
    expect((await romkiln(world.files, 'keep', 'list', '--json')).json().records).toHaveLength(2);
  });

  it('when the keep cannot be written then nothing is overwritten', async () => {
    const old = random(2048, 4);
    const world = worldWith({ 'a.bin': random(2048, 5) });
    const port = seatBench(world, 'b.json', 'AT28C16E', { contents: old });
    const full = fakeWorld();
    for (const [path, bytes] of world.files.stored) full.files.stored.set(path, bytes);
    const replace = full.files.replace;
    full.files.replace = (path, data) => {
      full.files.failing = path.includes('/keep/') ? 'the disk is full' : null;
      replace(path, data);
    };
    expect(await run(['burn', 'a.bin', '--port', port, '--quiet'], full)).toBe(2);
    expect(full.err()).toContain('the disk is full');
    expect(benchState(full, 'b.json').cells).toEqual(old);
  });

  it('when a cell is weak then it is named, not verified', async () => {
    const world = worldWith({ 'a.bin': random(2048) });
    const port = seatBench(world, 'b.json', 'AT28C16E', { faults: ['weak 0x155'], seed: 3 });
    const both = [await romkiln(world.files, 'burn', 'a.bin', '--port', port)];
    world.files.replace(
      'i.bin',
      random(2048).map((b) => b ^ 0xff),
    );
    both.push(await romkiln(world.files, 'burn', 'i.bin', '--port', port));
    // The weak bit keeps one level, so one of an image and its complement cannot be stored.
    expect(both.map((b) => b.exit).sort()).toEqual([0, 4]);
    expect(both.find((b) => b.exit === 4)!.out).toContain('0x155 wanted');
  });
});

describe('an empty socket', () => {
  it.each([['blank'], ['verify', 'a.bin'], ['burn', 'a.bin'], ['erase']])(
    'when %s is asked for then it is refused',
    async (...command) => {
      const world = worldWith({ 'a.bin': new Uint8Array(8192).fill(0xff) });
      const port = seatBench(world, 'b.json', 'AT28C64B', { faults: ['absent'] });
      const { exit, out, err } = await romkiln(world.files, ...command, '--port', port);
      expect(exit).toBe(4);
      expect(err).toContain('No chip drives the data lines');
      expect(out).toBe('');
    },
  );
});

describe('what cannot be done', () => {
  it('when chip, range and image are all wrong then all is said before a port is opened', async () => {
    const world = worldWith({ 'a.hex': ':0100000041BF\n' });
    const { exit, err } = await romkiln(
      world.files,
      'burn',
      'a.hex',
      '--chip',
      'AT28C61',
      '--rate',
      'fast',
      '--port',
      '/dev/none',
    );
    expect(exit).toBe(2);
    expect(err).toContain('"fast" is not a value for --rate');
    expect(err).toContain('no chip "AT28C61"');
    expect(err).toContain('a.hex:1');
  });

  it('when there are two ports then neither is guessed', async () => {
    const world = fakeWorld({ ports: ['/dev/ttyUSB0', '/dev/ttyUSB1'], initialFiles: { 'a.bin': random(2048) } });
    expect(await run(['verify', 'a.bin', '--chip', '28C16'], world)).toBe(2);
    expect(world.err()).toContain('/dev/ttyUSB0, /dev/ttyUSB1');
  });

  it('when the default bench is used first then it is made and said', async () => {
    const world = fakeWorld();
    expect(await run(['blank', '--chip', 'AT28C16', '--port', 'emulated'], world)).toBe(0);
    expect(world.err()).toContain('A new emulated bench with an AT28C16');
    expect(world.out()).toContain('Blank: 2048 bytes');
  });

  it('when a range lies beyond the chip then the last cell is named', async () => {
    const world = worldWith({});
    const port = seatBench(world, 'b.json', 'AT28C16');
    const { exit, err } = await romkiln(world.files, 'blank', '--range', '0x700..0x800', '--port', port);
    expect(exit).toBe(2);
    expect(err).toContain('0x7FF');
  });
});
