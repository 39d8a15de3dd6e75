// romkiln book: the digest is the one that everybody else says, and a line stays a line.
import { createHash } from 'node:crypto';
import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { run } from '../../src/cli/run.js';
import type { BookEntry } from '../../src/job/book.js';
import { mockWriter } from '../mock/mock-writer.js';
import { bookEntry } from '../support/book-entry.js';
import { type FakeWorld, fakeWorld } from '../support/fake-world.js';

const later = (world: FakeWorld, openSerial?: FakeWorld['openSerial']): FakeWorld =>
  fakeWorld({ initialFiles: Object.fromEntries(world.files.stored), ...(openSerial && { openSerial }) });

const bookOf = (entry: BookEntry, ...more: string[]): Promise<string> => bookOfAll([entry], ...more);

async function bookOfAll(entries: readonly BookEntry[], ...more: string[]): Promise<string> {
  const lines = entries.map((entry) => `${JSON.stringify(entry)}\n`);
  const world = fakeWorld({ initialFiles: { '/data/book.jsonl': lines.join('') } });
  expect(await run(['book', ...more], world)).toBe(0);
  return world.out();
}

describe('the book', () => {
  it('when a plan is built, burned and dumped then manifest, book and file have one digest', async () => {
    const plan = readFileSync('tests/support/tide-gauge.yaml');
    const mock = mockWriter({ chip: { cells: 2048, page: 1, cycleUs: 100, codes: false, contents: 0xff } });
    let world = fakeWorld({ initialFiles: { 'plan.yaml': plan } });
    expect(await run(['build', 'plan.yaml', '-o', 'out', '--json'], world)).toBe(0);
    const [rom] = (world.json() as { roms: { sha256: string }[] }).roms;
    for (const words of [
      ['burn', 'plan.yaml'],
      ['dump', '-o', 'dump.bin'],
    ]) {
      world = later(world, mock.open);
      expect(await run([...words, '--chip', 'AT28C16', '--port', 'bench', '--quiet'], world)).toBe(0);
    }
    const dumped = createHash('sha256').update(world.files.read('dump.bin')).digest('hex');
    world = later(world);
    await run(['book', '--json'], world);
    const digests = (world.json() as { entries: BookEntry[] }).entries.map((e) => e.image);
    expect(digests.map((d) => d?.sha256)).toEqual([rom!.sha256, dumped]);
    expect(dumped).toBe(rom!.sha256);
  });

  it('when a label is asked for then the digest is named as what it is', async () => {
    expect(await bookOf(bookEntry({}), '--label', 'U7')).toContain(
      'hold skerry.hex (SHA-256 0123456789abcdef...), verified',
    );
  });

  it('when a burn was of a part of the chip then the book says which part it should hold', async () => {
    const mock = mockWriter({ chip: { cells: 2048, page: 1, cycleUs: 100, codes: false, contents: 0xff } });
    let world = fakeWorld({ initialFiles: { 'a.bin': new Uint8Array(0x300).fill(7) } });
    const chip = ['--chip', 'AT28C16', '--port', 'bench', '--quiet', '--label', 'U7'];
    for (const [range, said] of [
      ['0x100..0x1FF', 'U7 should hold a.bin in cells 0x100..0x1FF, verified'],
      ['0x000..0x7FF', 'U7 should hold a.bin in cells 0x000..0x2FF, verified'],
    ]) {
      world = later(world, mock.open);
      expect(await run(['burn', 'a.bin', '--range', range!, ...chip], world)).toBe(0);
      world = later(world);
      expect(await run(['book', '--label', 'U7'], world)).toBe(0);
      expect(world.out()).toContain(said);
    }
    world = fakeWorld({ initialFiles: { ...Object.fromEntries(world.files.stored), 'b.bin': new Uint8Array(2048) } });
    world = later(world, mock.open);
    expect(await run(['burn', 'b.bin', ...chip], world)).toBe(0);
    world = later(world);
    expect(await run(['book', '--label', 'U7'], world)).toBe(0);
    expect(world.out()).toContain('U7 should hold b.bin (SHA-256');
  });

  it('when many pages were written here and there then the line ends the list early and counts them', async () => {
    const pages = Array.from({ length: 300 }, (_, i) => `${3 * i}-${3 * i + 1}`).join(',');
    const text = await bookOf(bookEntry({ pages, pageBytes: 64 }));
    expect(text).toContain('  0-1,3-4,6-7,... (600)  ');
    expect(Math.max(...text.split('\n').map((line) => line.length))).toBeLessThan(150);
    expect(JSON.parse(await bookOf(bookEntry({ pages, pageBytes: 64 }), '--json')).entries[0].pages).toBe(pages);
  });

  it('when a list just fits then it is whole, and one digit more is too much', async () => {
    expect(await bookOf(bookEntry({ pages: '10-12,14-16,18-20,30-350', pageBytes: 64 }))).toContain(
      '  10-12,14-16,18-20,30-350  ',
    );
    expect(await bookOf(bookEntry({ pages: '10-12,14-16,18-20,100-107', pageBytes: 64 }))).toContain(
      '  10-12,14-16,... (17)  ',
    );
    expect(await bookOf(bookEntry({ pages: '100000-100001,300000-500000', pageBytes: 64 }))).toContain(
      '  100000-100001,... (200003)  ',
    );
    expect(await bookOf(bookEntry({ pages: '', pageBytes: 64 }))).toContain('  -  ');
  });

  it('when pages or cells were written several times then each stands there once and is counted once, and the wear counts all', async () => {
    const pages = '0-2,4,8,16,32,64,128,256,512,1024,0-2,4,8,0,0';
    const text = await bookOf(
      bookEntry({ command: 'rig', image: null, outcome: { kind: 'put-back', sound: true }, pages }),
      '--label',
      'U7',
    );
    expect(text).toContain('  0x000..0x002,... (12)  ');
    expect(text).toContain('most-written cell, 0x000, was written 4 times');
    expect(await bookOf(bookEntry({ pages: '0,0,0,0,0,0,0,0' }))).toContain('  0x000  ');
    expect(await bookOf(bookEntry({ pages: '0-3,1-5,7', pageBytes: 64 }))).toContain('  0-5,7  ');
    expect(JSON.parse(await bookOf(bookEntry({ pages }), '--json')).entries[0].pages).toBe(pages);
  });

  it('when a chip has no page mode then its cells are written as addresses, and pages stay numbers', async () => {
    expect(await bookOf(bookEntry({ pages: '0,192,2047' }))).toContain('  0x000,0x0C0,0x7FF  ');
    const label = await bookOf(bookEntry({ pages: '192-200' }), '--label', 'U7');
    expect(label).toContain('  0x0C0..0x0C8  ');
    expect(label).toContain('Its most-written cell, 0x0C0, was written 1 time in 1 burn;');
    const page = await bookOf(bookEntry({ pages: '12', pageBytes: 64, chip: 'AT28C256' }), '--label', 'U7');
    expect(page).toContain('Its most-written page, 12, was written');
  });

  it('when one label stands for two parts then the last one alone counts, and the other is named', async () => {
    const cells = bookEntry({ pages: '0,0,5' });
    const time = '2026-01-02T03:04:06.000Z';
    const page = bookEntry({ time, chip: 'AT28C64B', pages: '0', pageBytes: 64 });
    const text = await bookOfAll([cells, page], '--label', 'U7');
    expect(text.split('\n')).toHaveLength(1 + 2 + 3 + 1);
    expect(text).toContain(
      `U7 should hold skerry.hex (SHA-256 0123456789abcdef...), verified 2026-01-02 03:04.\nIts most-written page, 0, was written 1 time in 1 burn; the part is specified for 10,000 cycles.\nU7 also labels jobs with AT28C16; this is about AT28C64B alone.\n`,
    );
    expect(JSON.parse(await bookOfAll([cells, page], '--label', 'U7', '--json'))).toMatchObject({
      entries: [{ chip: 'AT28C16' }, { chip: 'AT28C64B' }],
      chip: 'AT28C64B',
      mostWritten: { page: 0, times: 1 },
    });
    expect(await bookOfAll([cells, cells], '--label', 'U7')).not.toContain('as well');
  });

  it('when a part was called by its family in between, or only read as another, then that is no other chip', async () => {
    const [first, family] = [bookEntry({ pages: '0' }), bookEntry({ chip: '28C16', pages: '0' })];
    const read = bookEntry({
      time: '2026-01-02T03:04:06.000Z',
      command: 'dump',
      chip: '28C64',
      pages: '',
      outcome: { kind: 'dumped', file: 'a.bin', doubtful: false },
    });
    const text = await bookOfAll([first, family, read], '--label', 'U7');
    expect(text).toContain('U7 should hold skerry.hex');
    expect(text).toContain('most-written cell, 0x000, was written 2 times in 2 burns;');
    expect(text).toMatch(/U7 also labels jobs with 28C64; this is about 28C16 alone\.\n$/);
  });

  it('when a later verify found other bytes then that is said with its time, until a verify or a burn finds them right', async () => {
    const chip = { cells: 2048, page: 1, cycleUs: 100, codes: false, contents: 0xff };
    const mock = mockWriter({ chip });
    let world = fakeWorld({
      initialFiles: { 'a.bin': new Uint8Array(2048), 'b.bin': new Uint8Array(2048).fill(1, 5) },
    });
    const job = async (openSerial: FakeWorld['openSerial'], ...words: string[]): Promise<string> => {
      world = later(world, openSerial);
      await run([...words, '--chip', 'AT28C16', '--port', 'bench', '--quiet', '--label', 'U7'], world);
      world = later(world);
      expect(await run(['book', '--label', 'U7'], world)).toBe(0);
      return world.out().slice(world.out().indexOf('U7 should hold a.bin'));
    };
    const other = mockWriter({
      chip: { ...chip, contents: Uint8Array.from({ length: 2048 }, (_, i) => (i === 9 ? 1 : 0)) },
    });
    const [held, wear] = (await job(mock.open, 'burn', 'a.bin')).split(/(?<=\n)/);
    expect(await job(other.open, 'verify', 'a.bin')).toBe(
      `${held}A later verify of it at 2026-01-02 03:04 found that 1 byte differs.\n${wear}`,
    );
    expect(await job(mock.open, 'verify', 'a.bin')).toBe(`${held}${wear}`);
    expect(await job(mock.open, 'verify', 'b.bin')).toBe(`${held}${wear}`);
    expect(await job(mock.open, 'burn', 'a.bin')).toContain(held);
    expect(await job(mock.open, 'verify', 'b.bin')).toContain(
      `${held}A later verify of another image, b.bin, at 2026-01-02 03:04 found that 2043 bytes differ.\n`,
    );
  });
});
