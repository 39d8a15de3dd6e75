// A burn that is killed in the middle writes no line into the book, and the book tells of it all the same.
import { type ChildProcess, spawn, spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import { run } from '../../src/cli/run.js';
import { seededRandom } from '../../src/ground/random.js';
import type { BookEntry } from '../../src/job/book.js';
import type { CutOff } from '../../src/job/cut-off.js';
import { openKeep } from '../../src/job/keep.js';
import { bookEntry } from '../support/book-entry.js';
import { fakeWorld } from '../support/fake-world.js';

const folder = mkdtempSync(join(tmpdir(), 'romkiln-cut-'));
const env = { ...process.env, XDG_DATA_HOME: join(folder, 'data') };
let running: ChildProcess | null = null;
afterAll(() => {
  running?.kill('SIGKILL');
  rmSync(folder, { recursive: true, force: true });
});

const inFolder = (name: string): string => join(folder, name);
const romkiln = (...words: string[]): string => {
  const { status, stdout, stderr } = spawnSync(process.execPath, ['bin/romkiln.js', ...words], { env });
  expect([status, stderr.toString('utf8')]).toEqual([0, expect.any(String)]);
  return stdout.toString('utf8');
};
const bookOf = (...words: string[]): { entries: BookEntry[]; cutOff: CutOff[] } =>
  JSON.parse(romkiln('book', '--json', ...words));

/** Burns through the built program, and kills it when a quarter is written. */
async function killedBurn(...words: string[]): Promise<void> {
  const child = spawn(process.execPath, ['bin/romkiln.js', 'burn', ...words], { env });
  running = child;
  let said = '';
  child.stderr.on('data', (chunk: Buffer) => {
    said += chunk.toString('utf8');
    if (said.includes('writing: 128 of 512')) child.kill('SIGKILL');
  });
  const signal = await new Promise((ended) => child.on('close', (_, by) => ended(by)));
  expect([signal, said]).toEqual(['SIGKILL', expect.stringContaining('writing: 128 of 512')]);
}

describe('a burn that is killed', () => {
  it('when the process dies in the middle then the book tells it with label, pages and the way back, until it is restored', async () => {
    const before = seededRandom(3).bytes(32768);
    writeFileSync(inFolder('a.bin'), seededRandom(4).bytes(32768));
    writeFileSync(inFolder('old.bin'), before);
    const port = `emulated:${inFolder('b.json')}`;
    romkiln('emulate', 'new', inFolder('b.json'), '--chip', 'AT28C256', '--cycle', '1ms');
    romkiln('burn', inFolder('old.bin'), '--port', port, '--label', 'U7', '--quiet');
    expect(bookOf().cutOff).toEqual([]);

    await killedBurn(inFolder('a.bin'), '--port', port, '--label', 'U7');
    const { entries, cutOff } = bookOf('--label', 'U7');
    expect(entries.map((e) => e.outcome.kind)).toEqual(['verified']);
    expect(cutOff).toEqual([
      {
        command: 'burn',
        pages: '0-511',
        pageBytes: 64,
        time: expect.stringMatching(/^20\d\d-/),
        label: 'U7',
        chip: 'AT28C256',
        port,
        image: inFolder('a.bin'),
        id: expect.stringMatching(/^[0-9a-f]{12}$/),
        keptId: expect.stringMatching(/^[0-9a-f]{12}$/),
        isOpen: true,
      },
    ]);
    const [{ keptId, time } = { keptId: '', time: '' }] = cutOff;
    const minute = time.slice(0, 16).replace('T', ' ');
    const text = romkiln('book', '--label', 'U7');
    expect(text).toMatch(/U7 +AT28C256 .* at most 0-511 +- +- +cut off\n/);
    expect(text).toContain(
      `into U7 (AT28C256) on ${port}, begun ${minute}. It wrote pages 0-511 at most. "romkiln restore ${keptId}" writes the old contents back.\n`,
    );
    expect(text).toContain(
      `U7: the last burn, of ${inFolder('a.bin')}, begun ${minute}, was cut off or is still running; its contents are unknown.\n`,
    );
    expect(text).toContain('was written at most 2 times in 2 burns');

    romkiln('restore', keptId!, '--port', port, '--quiet');
    romkiln('dump', '-o', inFolder('d.bin'), '--port', port, '--quiet');
    expect(new Uint8Array(readFileSync(inFolder('d.bin')))).toEqual(before);
    expect(romkiln('book', '--label', 'U7')).toContain('U7 should hold kept');
  });

  it('when nothing was to be kept then it is told as well, and that there is no way back', async () => {
    writeFileSync(inFolder('a.bin'), seededRandom(4).bytes(32768));
    const port = `emulated:${inFolder('c.json')}`;
    romkiln('emulate', 'new', inFolder('c.json'), '--chip', 'AT28C256', '--cycle', '1ms');
    const kept = romkiln('keep', 'list', '--json');
    await killedBurn(inFolder('a.bin'), '--port', port, '--label', 'U8', '--discard');
    expect(romkiln('book', '--label', 'U8')).toMatch(
      /into U8 .* wrote pages 0-511 at most\. The old contents were not kept, as asked\.\n/,
    );
    expect(romkiln('keep', 'list', '--json')).toBe(kept);
  });
});

describe('what is cut off', () => {
  const about = { time: '2026-01-02T03:04:05.000Z', chip: 'AT28C16', label: 'U7', port: 'bench', image: 'a.hex' };
  const burn = { command: 'burn', pages: '192-200', pageBytes: 1 };
  const runs = [{ from: 192, bytes: new Uint8Array(9) }];
  const bookWith = async (entries: BookEntry[], note: object) => {
    const world = fakeWorld({
      initialFiles: { '/data/book.jsonl': entries.map((e) => `${JSON.stringify(e)}\n`).join('') },
    });
    const { id } = openKeep(world.files, '/data/keep').store({ ...about, ...note }, runs);
    expect(await run(['book'], world)).toBe(0);
    return { id, out: world.out() };
  };

  it('when the chip has no page mode then the cells are said as addresses', async () => {
    const { id, out } = await bookWith([], { burn });
    expect(out).toContain(
      `Cut off, or still running: the burn of a.hex into U7 (AT28C16) on bench, begun 2026-01-02 03:04. It wrote cells 0x0C0..0x0C8 at most. "romkiln restore ${id}" writes`,
    );
  });

  it('when a rig check was cut off then it is called one', async () => {
    const { id, out } = await bookWith([], { image: 'rig test', burn: { ...burn, command: 'rig' } });
    expect(out).toContain('still running: the rig check with U7 (AT28C16) on bench, begun');
    expect(out).toContain(`"romkiln restore ${id}"`);
  });

  it('when a rig check was cut off then its pages count as often as noted, and it is a job', async () => {
    const world = fakeWorld();
    const note = { command: 'rig', pages: '0-511,0-2,0,0', pageBytes: 64 };
    openKeep(world.files, '/data/keep').store({ ...about, chip: 'AT28C256', image: 'rig test', burn: note }, runs);
    expect(await run(['book', '--label', 'U7'], world)).toBe(0);
    expect(world.out()).toContain('  at most 0-511  ');
    expect(world.out()).toContain('It wrote pages 0-511 at most.');
    expect(world.out()).toContain('Its most-written page, 0, was written at most 4 times in 1 job;');
  });

  it('when a line of the book names the record, or the record is of no burn or from before, then nothing is cut off', async () => {
    const { id } = await bookWith([], { burn });
    expect(
      (await bookWith([bookEntry({ record: id, outcome: { kind: 'broken-off', putBack: false } })], { burn })).out,
    ).not.toContain('ut off');
    expect((await bookWith([bookEntry({})], {})).out).not.toContain('ut off');
    expect((await bookWith([bookEntry({ record: 'other' })], { burn })).out).toContain('Cut off');
  });

  it('when a later burn of the label ended then that says what the chip holds', async () => {
    const world = fakeWorld({
      initialFiles: { '/data/book.jsonl': `${JSON.stringify(bookEntry({ time: '2026-01-02T03:04:06.000Z' }))}\n` },
    });
    openKeep(world.files, '/data/keep').store({ ...about, burn }, runs);
    expect(await run(['book', '--label', 'U7'], world)).toBe(0);
    expect(world.out()).toContain('U7 should hold skerry.hex');
    expect(world.out()).not.toContain('Cut off, or still running');
    expect(world.out().split('\n')[1]).toContain('cut off');
  });

  it('when what was burned later is another chip, or did not end verified, then it is still told', async () => {
    const later = (more: Partial<BookEntry>) => bookEntry({ time: '2026-01-02T03:04:06.000Z', ...more });
    const told = async (entry: BookEntry, note: object = {}) =>
      (await bookWith([entry], { burn, ...note })).out.includes('Cut off, or still running');
    expect(await told(later({}))).toBe(false);
    expect(await told(later({ label: 'U8' }))).toBe(true);
    // All that may have been written was read back since, or a part of it alone.
    expect(await told(later({ outcome: { kind: 'verified', pages: '0-199,200-300' } }))).toBe(false);
    expect(await told(later({ outcome: { kind: 'verified', pages: '0-199' } }))).toBe(true);
    expect(await told(later({ outcome: { kind: 'not-verified' } }))).toBe(true);
    expect(await told(later({ outcome: { kind: 'dumped', file: 'x', doubtful: false } }))).toBe(true);
    expect(await told(bookEntry({ time: '2026-01-02T03:04:04.000Z' }))).toBe(true);
    const unnamed = later({ label: null, chip: 'AT28C16', writer: { port: 'bench', build: 'x' } });
    // Without a label nobody knows whether it was the same chip: a restore of its record says so, or a person does.
    expect(await told(unnamed, { label: null })).toBe(true);
  });
});
