// The main job through the command line: an image is burned, verified, dumped and compared, and a changed byte is found.
import { expect } from 'vitest';
import { seededRandom } from '../../src/ground/random.js';
import { benchState, seatBench } from '../support/benches.js';
import { fakeWorld } from '../support/fake-world.js';
import { romkiln } from '../support/one-after-another.js';

export interface Seat {
  readonly chip: string;
  readonly cells: number;
  readonly cycleUs: number;
}

const random = (count: number, seed = 1): Uint8Array => seededRandom(seed).bytes(count);

export async function mainJob({ chip, cells, cycleUs }: Seat): Promise<void> {
  const image = random(cells);
  const world = fakeWorld({ initialFiles: { 'a.bin': image } });
  const port = seatBench(world, 'b.json', chip, { cycleUs, contents: random(cells, 2) });

  const burned = await romkiln(world.files, 'burn', 'a.bin', '--port', port, '--json');
  expect(burned.exit).toBe(0);
  expect(burned.json()).toMatchObject({ command: 'burn', chip, verified: true, retries: 0 });
  expect(benchState(world, 'b.json').cells).toEqual(image);
  expect(benchState(world, 'b.json').violations).toBe(0);

  expect((await romkiln(world.files, 'dump', '-o', 'd.hex', '--port', port)).exit).toBe(0);
  expect((await romkiln(world.files, 'dump', '-o', 'd.bin', '--port', port)).exit).toBe(0);
  expect((await romkiln(world.files, 'compare', 'a.bin', 'd.hex')).exit).toBe(0);
  expect(world.files.read('d.bin')).toEqual(image);

  const changed = image.slice();
  changed[0x123] = changed[0x123]! ^ 0x41;
  world.files.replace('c.bin', changed);
  const verified = await romkiln(world.files, 'verify', 'c.bin', '--port', port, '--json');
  expect(verified.exit).toBe(1);
  const hex = (n: number) => n.toString(16).toUpperCase().padStart(2, '0');
  expect(verified.json().differences.runs).toEqual([
    { from: 0x123, to: 0x123, wanted: hex(changed[0x123]!), actual: hex(image[0x123]!) },
  ]);

  const again = await romkiln(world.files, 'burn', 'c.bin', '--port', port, '--json');
  expect(again.json().pages.written).toBe(1);
  expect(benchState(world, 'b.json').cells).toEqual(changed);
}
