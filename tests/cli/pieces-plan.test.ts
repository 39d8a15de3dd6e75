// A plan of pieces through the command line: its files stand beside it, whichever folder the command runs in.
import { describe, expect, it } from 'vitest';
import { run } from '../../src/cli/run.js';
import { fakeWorld } from '../support/fake-world.js';

const text = `plan: tide
fields: { cell: 11 }
contents:
  kind: pieces
  address: cell
  pieces:
    - { file: tables/tide.bin, at: 0 }
    - { sum: sum-8, of: 0..2, at: 3 }
roms:
  tide: { chip: 28C16, address: { cell: A0..A10 }, data: { byte: D0..D7 } }
`;
const world = (answers: readonly string[] = []) =>
  fakeWorld({ initialFiles: { 'mast/tide.yaml': text, 'mast/tables/tide.bin': Uint8Array.of(7, 8, 9) }, answers });

describe('a plan of pieces', () => {
  it('when it is built as memory text then that holds its bytes, and can be compared with the plan', async () => {
    const here = world();
    expect(await run(['build', 'mast/tide.yaml', '-o', 'out', '--format', 'memh'], here)).toBe(0);
    expect(Buffer.from(here.files.read('out/tide.memh')).toString()).toBe('@0000\n07 08 09 18\n');
    expect(await run(['compare', 'mast/tide.yaml', 'out/tide.memh'], here)).toBe(0);
    expect(await run(['look', 'mast/tide.yaml', 'cell=1'], here)).toBe(0);
    expect(here.out()).toContain('byte 0x08, tables/tide.bin at 0x0001');
  });

  it('when its file is missing then check names file, line and column', async () => {
    const here = fakeWorld({ initialFiles: { 'mast/tide.yaml': text } });
    expect(await run(['check', 'mast/tide.yaml'], here)).toBe(1);
    expect(here.out()).toMatch(/^mast\/tide\.yaml:7:15: error: .*mast\/tables\/tide\.bin/m);
  });

  it('when a board shows a wrong byte then the bench is asked about its bits', async () => {
    const here = world(['', '']);
    await run(['suspects', 'mast/tide.yaml', '--bench'], here);
    expect(here.err() + here.out()).toContain('cell=');
  });
});
