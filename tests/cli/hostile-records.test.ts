// Keep and book with things in them that romkiln did not write: each is named or passed over, and nothing ends for it.

import { execFileSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import { appendFileSync, mkdirSync, mkdtempSync, rmSync, truncateSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { run } from '../../src/cli/run.js';
import { diskFiles } from '../../src/cli/world-files.js';
import { bookReadBytes } from '../../src/job/book.js';
import { openKeep } from '../../src/job/keep.js';
import { mockWriter } from '../mock/mock-writer.js';
import { bookEntry } from '../support/book-entry.js';
import { fakeWorld } from '../support/fake-world.js';

let folder = '';
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'romkiln-hostile-'));
});
afterEach(() => rmSync(folder, { recursive: true, force: true }));

/** A world on the disk, with one chip that every command meets again. */
function bench() {
  const chip = { cells: 2048, page: 1, cycleUs: 100, codes: false, contents: 0xff };
  const mock = mockWriter({ chip });
  const world = () => ({
    ...fakeWorld({ dataFolder: folder, openSerial: mock.open, readInput: async (path) => diskFiles.read(path) }),
    files: diskFiles,
  });
  const romkiln = async (...words: string[]) => {
    const own = world();
    const chipWords = words[0] === 'burn' || words[0] === 'restore' ? ['--chip', 'AT28C16', '--port', 'bench'] : [];
    return { exit: await run([...words, ...chipWords], own), out: own.out(), err: own.err() };
  };
  return { mock, romkiln };
}

const records = (): string => join(folder, 'keep/records');
const image = (): string => {
  const path = join(folder, 'a.bin');
  writeFileSync(path, new Uint8Array(64));
  return path;
};

/** A record as nobody's keep wrote it, under the id that its facts have. */
function forge(change: object): string {
  const facts = {
    ...{ time: '2026-01-02T03:04:05.000Z', chip: 'AT28C16', label: null, port: 'p', image: 'x' },
    ...{ digest: '0'.repeat(64), runs: [{ from: 0, count: 4 }] },
    ...change,
  };
  const id = createHash('sha256').update(JSON.stringify(facts)).digest('hex').slice(0, 12);
  writeFileSync(join(records(), `${id}.json`), JSON.stringify({ id, ...facts }));
  return `${id}.json`;
}

const put = (name: string, text: string): string => {
  writeFileSync(join(records(), name), text);
  return name;
};

const strange: readonly [string, () => string][] = [
  [
    'a folder',
    () => {
      mkdirSync(join(records(), 'a.json'));
      return 'a.json';
    },
  ],
  [
    'a pipe that nobody writes',
    () => {
      execFileSync('mkfifo', [join(records(), 'b.json')]);
      return 'b.json';
    },
  ],
  [
    'two hundred million bytes',
    () => {
      truncateSync(join(records(), put('f.json', '')), 200_000_000);
      return 'f.json';
    },
  ],
  ['no JSON', () => put('c.json', '{"id":')],
  ['a text alone', () => put('d.json', '"record"')],
  ['nothing', () => put('e.json', '')],
  ['runs that are none', () => forge({ runs: 'all' })],
  ['a run before the first cell', () => forge({ runs: [{ from: -1, count: 4 }] })],
  ['a run beyond any chip', () => forge({ runs: [{ from: 0, count: 1e15 }] })],
  ['a label that is a list', () => forge({ label: ['U7'] })],
  ['a time that is none', () => forge({ time: 7 })],
  ['a note of pages in words', () => forge({ burn: { command: 'burn', pages: 'all', pageBytes: 1 } })],
  ['a digest that is a path', () => forge({ digest: '../../../../etc/passwd' })],
];

describe('a keep with strange things in it', () => {
  it.each(strange)(
    'when a record is %s then it is named, and list, book and restore do their work',
    async (_, make) => {
      const { mock, romkiln } = bench();
      expect((await romkiln('burn', image(), '--label', 'U7')).exit).toBe(0);
      const [record] = openKeep(diskFiles, join(folder, 'keep')).list().records;
      const name = make();
      const list = await romkiln('keep', 'list');
      expect([list.exit, list.out]).toEqual([0, expect.stringContaining(record!.id)]);
      expect(list.out).toContain(`Damaged, not listed: ${join(records(), name)}`);
      expect(await romkiln('book', '--label', 'U7')).toMatchObject({ exit: 0 });
      expect((await romkiln('restore', record!.id)).exit).toBe(0);
      expect(new Set(mock.chip.cells)).toEqual(new Set([0xff]));
    },
  );

  it('when a good record has a copy under another name then its id still names one', async () => {
    const { romkiln } = bench();
    await romkiln('burn', image());
    const [record] = openKeep(diskFiles, join(folder, 'keep')).list().records;
    writeFileSync(join(records(), 'copy.json'), diskFiles.read(join(records(), `${record!.id}.json`)));
    expect((await romkiln('restore', record!.id)).exit).toBe(0);
  });

  it('when the bytes of a record are a folder, or too few, then it alone cannot be restored', async () => {
    const { romkiln } = bench();
    await romkiln('burn', image());
    const [record] = openKeep(diskFiles, join(folder, 'keep')).list().records;
    const object = join(folder, 'keep/objects', record!.digest);
    rmSync(object);
    mkdirSync(object);
    expect(await romkiln('restore', record!.id)).toMatchObject({ exit: 2, err: expect.stringContaining('damaged') });
    const bytes = Buffer.from('abcd');
    const digest = createHash('sha256').update(bytes).digest('hex');
    writeFileSync(join(folder, 'keep/objects', digest), bytes);
    const id = forge({ digest, runs: [{ from: 0, count: 4096 }] }).slice(0, 12);
    expect(await romkiln('restore', id)).toMatchObject({ exit: 2, err: expect.stringContaining('damaged') });
  });
});

describe('a book that is no longer what it was', () => {
  const path = (): string => join(folder, 'book.jsonl');

  it('when it has more than a hundred million bytes then a verified burn ends well, and its end is read', async () => {
    const { romkiln } = bench();
    writeFileSync(path(), '');
    truncateSync(path(), 101_000_000);
    appendFileSync(path(), '\n');
    expect(await romkiln('burn', image(), '--label', 'U7')).toMatchObject({ exit: 0 });
    const book = await romkiln('book', '--label', 'U7');
    expect([book.exit, book.out]).toEqual([0, expect.stringContaining('U7 should hold')]);
    expect(book.err).toContain('is too long to read whole; this begins at 2026-01-02');
    expect(bookReadBytes).toBeLessThan(100_000_000);
  });

  it('when thousands of lines cannot be read then some are named, the rest is counted, and the good ones count', async () => {
    const { romkiln } = bench();
    writeFileSync(path(), `${'{"time":\n'.repeat(5000)}${JSON.stringify(bookEntry({}))}\n`);
    const { exit, out, err } = await romkiln('book', '--label', 'U7');
    expect([exit, out]).toEqual([0, expect.stringContaining('U7 should hold skerry.hex')]);
    expect(err.split('\n')).toHaveLength(8 + 1 + 1);
    expect(err).toContain(`${path()}: 4992 more lines cannot be read.`);
  });
});

describe('the note of a job that was cut off', () => {
  const about = { time: '2026-01-02T03:04:04.000Z', chip: 'AT28C16', label: null, port: 'bench', image: 'a.hex' };
  const burn = { command: 'burn', pages: '0-3', pageBytes: 1 };
  const note = (label: string | null, runs = [{ from: 0, bytes: new Uint8Array(4) }]): string =>
    openKeep(diskFiles, join(folder, 'keep')).store({ ...about, label, burn }, runs).id;
  const isTold = async (romkiln: ReturnType<typeof bench>['romkiln']): Promise<boolean> =>
    (await romkiln('book')).out.includes('Cut off, or still running');

  it('when the chip has no label then no burn ends it, and book --settle does', async () => {
    const { romkiln } = bench();
    const id = note(null);
    await romkiln('burn', image());
    await romkiln('burn', image(), '--label', 'U7');
    const { out } = await romkiln('book');
    expect(out).toContain(`"romkiln book --settle ${id}" clears this note.`);
    expect(await romkiln('book', '--settle', id.slice(0, 6))).toMatchObject({ exit: 0 });
    expect(await isTold(romkiln)).toBe(false);
    expect((await romkiln('book')).out).toContain('cut off');
    expect(await romkiln('book', '--settle', id)).toMatchObject({ exit: 2 });
    expect(await romkiln('book', '--settle', id, '--label', 'U7')).toMatchObject({ exit: 2 });
  });

  it('when its record is restored then that ends it', async () => {
    const { romkiln } = bench();
    const id = note(null);
    expect((await romkiln('restore', id)).exit).toBe(0);
    expect(await isTold(romkiln)).toBe(false);
  });

  it('when it kept nothing then it can be settled all the same', async () => {
    const { romkiln } = bench();
    const id = note(null, []);
    expect(await isTold(romkiln)).toBe(true);
    expect((await romkiln('book', '--settle', id)).exit).toBe(0);
    expect(await isTold(romkiln)).toBe(false);
  });

  it('when a burn of its label is verified wherever it may have written then that ends it', async () => {
    const { romkiln } = bench();
    note('U7');
    await romkiln('burn', image(), '--label', 'U8');
    expect(await isTold(romkiln)).toBe(true);
    await romkiln('burn', image(), '--label', 'U7');
    expect(await isTold(romkiln)).toBe(false);
  });
});

describe('a label', () => {
  it('when it is longer than any label then that is refused with the length that it may have', async () => {
    const { romkiln } = bench();
    expect(await romkiln('burn', image(), '--label', 'U'.repeat(64))).toMatchObject({ exit: 0 });
    const refused = await romkiln('burn', image(), '--label', 'U'.repeat(65));
    expect(refused).toMatchObject({ exit: 2, err: expect.stringContaining('--label has 65 characters') });
    expect(refused.err).toContain('at most 64');
    expect((await romkiln('book', '--label', 'U'.repeat(1e6))).err.length).toBeLessThan(1000);
  });
});
