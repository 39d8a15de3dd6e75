// The library as a program of its own would use it.
import { spawnSync } from 'node:child_process';
import { mkdirSync, mkdtempSync, readFileSync, rmSync, symlinkSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import * as library from '../src/index.js';
import { memoryFiles } from './support/memory-files.js';

const folder = mkdtempSync(join(tmpdir(), 'romkiln-library-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

/** A chip of all FF in an emulated bench, and a writer that speaks to it. */
async function seated() {
  const part = library.findPart('AT28C16E');
  const bench = new library.EmulatedBench({
    state: library.newBenchState({ part }),
    firmware: readFileSync('firmware/romkiln-writer.hex', 'latin1'),
  });
  const writer = await library.openWriter(await library.openBenchLink(bench, { baud: 115200, lineMax: 400 }));
  await writer.chip(library.chipChoice(part));
  const image = library.imageOfBytes('zeros', new Uint8Array(16));
  return { part, bench, writer, image };
}

describe('the library', () => {
  it('when the example of the README is run as it stands then it burns, verifies and keeps', () => {
    const readme = readFileSync('README.md', 'utf8');
    const [, example = ''] = /## As a library\s+```js\n([\s\S]*?)```/.exec(readme)!;
    mkdirSync(join(folder, 'node_modules'));
    symlinkSync(resolve('.'), join(folder, 'node_modules/romkiln'));
    for (const name of ['images', 'firmware']) symlinkSync(resolve(name), join(folder, name));
    writeFileSync(join(folder, 'example.mjs'), example);
    const { stdout, stderr } = spawnSync(process.execPath, ['example.mjs'], { cwd: folder, encoding: 'utf8' });
    expect([stdout, stderr]).toEqual([expect.stringMatching(/^true [0-9a-f]{12}\n$/), '']);
    const book = readFileSync(join(folder, 'romkiln-data/book.jsonl'), 'utf8');
    expect(JSON.parse(book)).toMatchObject({ label: 'U7', chip: 'AT28C64B', outcome: { kind: 'verified' } });
  });

  it('when a burn is asked for then what was there is in the keep, and the book has its line, without another word', async () => {
    const { part, bench, writer, image } = await seated();
    const files = memoryFiles();
    const onLineMissing = () => expect.unreachable();
    const records = library.openRecords(files, 'data', { wallTime: () => new Date(0), onLineMissing });
    const { outcome, keptId } = await library.burn(writer, part, image, records, { port: 'bench' });
    await writer.close();
    expect(outcome.verified).toBe(true);
    expect(records.keep.runsOf(records.keep.find(keptId!))).toEqual([
      { from: 0, bytes: new Uint8Array(64).fill(0xff) },
    ]);
    expect(records.book.read().entries).toMatchObject([{ record: keptId, pages: '0-15' }]);
    expect(bench.violations).toEqual([]);
  });

  it('when the keep takes nothing, or its record does not hold what would be overwritten, then no cell is written', async () => {
    const { part, bench, writer, image } = await seated();
    const files = memoryFiles();
    const onLineMissing = () => expect.unreachable();
    const records = library.openRecords(files, 'data', { wallTime: () => new Date(0), onLineMissing });
    files.failing = 'the disk is full';
    await expect(library.burn(writer, part, image, records, { port: 'bench' })).rejects.toThrow(/the disk is full/);
    files.failing = null;
    const store: typeof records.keep.store = (about) =>
      records.keep.store(about, [{ from: 0, bytes: new Uint8Array(15) }]);
    const forgetful = { ...records, keep: { ...records.keep, store } };
    const burn = library.burn(writer, part, image, forgetful, { port: 'bench' });
    await expect(burn).rejects.toMatchObject({
      reason: { message: 'broken promise: a chip is written without a record of what was there' },
    });
    await writer.close();
    expect(bench.truth).toEqual(new Uint8Array(2048).fill(0xff));
  });

  it('when its names are listed then none writes an image but the recorded burn', () => {
    expect(
      Object.keys(library)
        .filter((name) => /burn|write|record/i.test(name))
        .sort(),
    ).toEqual(['burn', 'openRecords', 'openWriter', 'writeImage']);
  });
});
