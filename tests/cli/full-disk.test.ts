// A disk that is full stops what would lose something, and nothing else.
import { describe, expect, it } from 'vitest';
import { run } from '../../src/cli/run.js';
import { ToolError } from '../../src/ground/errors.js';
import { mockWriter } from '../mock/mock-writer.js';
import { fakeWorld } from '../support/fake-world.js';

const image = Uint8Array.from({ length: 64 }, (_, i) => i * 3);
const refuse = (path: string): never => {
  throw new ToolError('cli.file-unwritable', { path, reason: 'the disk is full' });
};

/** A bench on which the image is there already, or all FF. */
function bench(contents: Uint8Array | number) {
  const mock = mockWriter({ chip: { cells: 8192, page: 64, cycleUs: 3000, codes: true, contents } });
  const world = fakeWorld({ openSerial: mock.open, initialFiles: { 'a.bin': image } });
  const romkiln = (...words: string[]) => run([...words, '--chip', 'AT28C64B', '--port', 'bench'], world);
  return { mock, world, romkiln };
}

describe('a full disk', () => {
  it.each([
    [0, 'burn', ['a.bin']],
    [0, 'verify', ['a.bin']],
    [0, 'dump', ['-o', 'd.bin']],
  ] as const)(
    'when only the book cannot be written then that is said beside the result, and the exit is %i after a %s',
    async (exit, command, words) => {
      const { world, romkiln } = bench(image);
      world.files.append = refuse;
      expect(await romkiln(command, ...words, '--json')).toBe(exit);
      expect(world.json()).toMatchObject({ command, chip: 'AT28C64B' });
      expect(world.err()).toContain('book.jsonl cannot be written: the disk is full');
    },
  );

  it('when the book cannot be written then nothing is overwritten, not even noted as a burn', async () => {
    const { mock, world, romkiln } = bench(0xff);
    world.files.append = refuse;
    expect(await romkiln('burn', 'a.bin')).toBe(2);
    expect(world.err()).toContain(
      'book.jsonl cannot be written: the disk is full.\n  The keep and the book are stored there.',
    );
    expect(mock.counts().cycles).toBe(0);
    expect(world.files.list('/data/keep/records')).toEqual([]);
  });

  it('when the disk fills while a burn is at work then the burn is told as it went, and the missing line apart', async () => {
    const { mock, world, romkiln } = bench(0xff);
    const { append } = world.files;
    world.files.append = (path, text) => (text === '' ? append(path, text) : refuse(path));
    expect(await romkiln('burn', 'a.bin')).toBe(0);
    expect(world.out()).toContain('Verified: 64 bytes');
    expect(world.err()).toContain(
      'This job could not be entered in the book: /data/book.jsonl cannot be written: the disk is full.',
    );
    expect(mock.counts().cycles).toBe(1);
  });

  it('when the rate of the line cannot be remembered then nothing ends for that', async () => {
    const { world, romkiln } = bench(0xff);
    world.files.failing = 'the disk is full';
    expect(await romkiln('blank')).toBe(0);
  });

  it('when the keep cannot be written then nothing is overwritten', async () => {
    const { mock, world, romkiln } = bench(0xff);
    world.files.failing = 'the disk is full';
    expect(await romkiln('burn', 'a.bin')).toBe(2);
    expect(mock.counts().cycles).toBe(0);
    expect(await romkiln('protect')).toBe(2);
    expect(mock.counts().cycles).toBe(0);
  });
});

describe('a data folder that is none', () => {
  const unreadable = (path: string): never => {
    throw new ToolError('cli.file-unreadable', { path, reason: 'a part of its path is not a folder' });
  };

  it.each([
    [['keep', 'list'], '/data/keep/records'],
    [['book'], '/data/book.jsonl'],
    [['book', '--label', 'U7'], '/data/book.jsonl'],
    [['restore', 'ab12', '--port', 'bench', '--chip', 'AT28C64B'], '/data/keep/records'],
  ])(
    'when %j finds it then it says so and where another is named, and nothing passes for empty',
    async (words, path) => {
      const { world } = bench(0xff);
      Object.assign(world.files, { list: unreadable, readIfThere: unreadable, readEnd: unreadable });
      expect(await run(words, world)).toBe(2);
      expect(world.out()).toBe('');
      expect(world.err()).toMatch(
        `romkiln: ${path} cannot be read: a part of its path is not a folder.\n  The keep and the book are stored there. XDG_DATA_HOME`,
      );
    },
  );

  it('when the keep cannot be written then the burn says where another folder is named', async () => {
    const { world, romkiln } = bench(0xff);
    world.files.failing = 'permission denied';
    expect(await romkiln('burn', 'a.bin')).toBe(2);
    expect(world.err()).toContain(
      'cannot be written: permission denied.\n  The keep and the book are stored there. XDG_DATA_HOME',
    );
  });
});
