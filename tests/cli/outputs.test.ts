// Where a command may put a file: never over what somebody may need, and over its own only where it made it.
import { linkSync, mkdirSync, mkdtempSync, readFileSync, rmSync, symlinkSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeEach, describe, expect, it } from 'vitest';
import { keepOf } from '../../src/cli/book-keeping.js';
import { run } from '../../src/cli/run.js';
import type { World } from '../../src/cli/world.js';
import { diskFiles } from '../../src/cli/world-files.js';
import { mockWriter } from '../mock/mock-writer.js';
import { type FakeWorld, fakeWorld } from '../support/fake-world.js';

const top = mkdtempSync(join(tmpdir(), 'romkiln-outputs-'));
afterAll(() => rmSync(top, { recursive: true, force: true }));
const plan = readFileSync('tests/support/tide-gauge.yaml', 'utf8');
const setPlan = plan.replace(
  /roms:\n( {2})gauge:\n([\s\S]*)$/,
  (_, indent, rom) => `roms:\n${indent}one:\n${rom}\n${indent}two:\n${rom}`,
);

let folder = '';
let count = 0;
let world: FakeWorld;
const at = (name: string): string => join(folder, name);
const text = (name: string): string => readFileSync(at(name), 'latin1');

/** A command in the folder of this test, on the true disk. */
async function romkiln(...words: string[]): Promise<{ exit: number; err: string }> {
  const mock = mockWriter({ chip: { cells: 2048, page: 1, cycleUs: 1000, codes: false, contents: 0x5a } });
  world = fakeWorld({ openSerial: mock.open, dataFolder: at('data') });
  const onDisk: World = { ...world, files: diskFiles, readInput: async (path) => diskFiles.read(path) };
  return { exit: await run(words, onDisk), err: world.err() };
}
const dump = (...words: string[]) => romkiln('dump', ...words, '--chip', 'AT28C16', '--port', 'bench', '--quiet');

beforeEach(() => {
  folder = join(top, `${count++}`);
  mkdirSync(folder);
  writeFileSync(at('plan.yaml'), plan);
  writeFileSync(at('set.yaml'), setPlan);
});

describe('a plan, an input, a bench, the keep and the book', () => {
  it.each([
    ['the plan itself', (): string[] => [at('plan.yaml'), '-o', at('plan.yaml')], 'plan.yaml'],
    ['a plan that is not even read', () => ['-o', at('set.yaml'), '--overwrite'], 'set.yaml'],
  ])('when the output is %s then it is refused, and stays', async (_, words, name) => {
    const before = text(name);
    const { exit, err } = await dump(...words());
    expect([exit, text(name)]).toEqual([2, before]);
    expect(err).toContain(`${at(name)} is not written over: `);
    expect(err).not.toContain('    at ');
  });

  it('when the output is another name of an input then it is refused, with --overwrite too', async () => {
    writeFileSync(at('wanted.bin'), Buffer.alloc(2048));
    linkSync(at('wanted.bin'), at('second.bin'));
    symlinkSync('wanted.bin', at('link.bin'));
    for (const name of ['wanted.bin', 'second.bin', 'link.bin']) {
      const { exit, err } = await dump(at('wanted.bin'), '-o', at(name), '--overwrite');
      expect(exit).toBe(2);
      expect(err).toContain(`${at(name)} is not written over: this command reads it.`);
    }
    expect(readFileSync(at('wanted.bin'))).toEqual(Buffer.alloc(2048));
  });

  it('when the output is a bench then it is refused, with --overwrite too', async () => {
    expect((await romkiln('emulate', 'new', at('bench.json'), '--chip', 'AT28C16')).exit).toBe(0);
    const before = text('bench.json');
    const bench = ['--port', `emulated:${at('bench.json')}`, '-o', at('bench.json'), '--overwrite', '--quiet'];
    const { exit, err } = await romkiln('dump', ...bench);
    expect(exit).toBe(2);
    expect(err).toContain('bench.json is not written over: ');
    expect(text('bench.json')).toBe(before);
  });

  it('when the output is in the data folder then it is refused', async () => {
    expect((await dump('-o', at('first.bin'))).exit).toBe(0);
    const book = readFileSync(at('data/book.jsonl'), 'utf8');
    const facts = { time: '2026-01-02T03:04:05Z', chip: 'AT28C16', label: null, port: 'bench', image: 'a.bin' };
    const { id } = keepOf({ ...world, files: diskFiles }).store(facts, [{ from: 0, bytes: Uint8Array.of(0x5a) }]);
    const { exit, err } = await romkiln('keep', 'show', id, '-o', at('data/book.jsonl'), '--overwrite');
    expect(exit).toBe(2);
    expect(err).toContain('keep and book stand in that folder');
    expect(readFileSync(at('data/book.jsonl'), 'utf8')).toBe(book);
  });
});

describe('a file that is there already', () => {
  it('when nothing says that this command made it then it is replaced with --overwrite only', async () => {
    writeFileSync(at('d.bin'), 'precious');
    const refused = await dump('-o', at('d.bin'));
    expect(refused.exit).toBe(2);
    expect(refused.err).toContain(
      'd.bin is there already, and this command did not make it. Nothing was written.\n  Add --overwrite to replace it',
    );
    expect(text('d.bin')).toBe('precious');
    expect((await dump('-o', at('d.bin'), '--overwrite')).exit).toBe(0);
    expect(readFileSync(at('d.bin')).length).toBe(2048);
  });

  it('when a build made it then the next one replaces it, in any format', async () => {
    for (const format of ['bin', 'hex', 'bin'])
      expect((await romkiln('build', at('plan.yaml'), '--format', format)).exit).toBe(0);
    writeFileSync(at('plan.yaml'), plan.replace('font: ls247', 'font: ls47'));
    expect((await romkiln('build', at('plan.yaml'))).exit).toBe(0);
  });

  it('when a dump stands where a build wants to put its image then it stays', async () => {
    expect((await romkiln('build', at('plan.yaml'))).exit).toBe(0);
    writeFileSync(at('plan.bin'), 'a dump');
    const { exit, err } = await romkiln('build', at('plan.yaml'));
    expect(exit).toBe(2);
    expect(err).toContain('plan.bin is there already');
    expect(text('plan.bin')).toBe('a dump');
  });

  it('when a manifest of that name is none of ours then nothing at all is written', async () => {
    writeFileSync(at('plan.manifest.json'), '{"name": "a web page"}');
    const { exit, err } = await romkiln('build', at('plan.yaml'));
    expect(exit).toBe(2);
    expect(err).toContain('plan.manifest.json is there already');
    expect(diskFiles.list(folder)).toEqual(['plan.manifest.json', 'plan.yaml', 'set.yaml']);
  });
});

describe('a set of images', () => {
  it('when a build is cut off before its manifest then readers name what does not agree', async () => {
    expect((await romkiln('build', at('set.yaml'))).exit).toBe(0);
    const image = at('set.two.bin');
    const same = await romkiln('compare', image, image);
    expect(same.err).toBe('');
    // As the next build leaves it that is killed after its first image.
    writeFileSync(at('set.one.bin'), Buffer.alloc(2048));
    const { err } = await romkiln('compare', image, image);
    expect(err).toContain('set.manifest.json does not agree with set.one.bin');
  });

  it('when it is built then its manifest is put down last', async () => {
    const order: string[] = [];
    const files = { ...diskFiles, replace: (path: string) => void order.push(path) };
    expect(
      await run(['build', at('set.yaml')], { ...fakeWorld(), files, readInput: async (p) => diskFiles.read(p) }),
    ).toBe(0);
    expect(order.at(-1)).toBe(at('set.manifest.json'));
    expect(order.length).toBe(3);
  });
});
