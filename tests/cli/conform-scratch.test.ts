// romkiln conform --scratch writes a chip, and so it keeps, notes, enters and puts back like every other command that does.
import { describe, expect, it } from 'vitest';
import { findPart } from '../../src/chip/chip-table.js';
import { run } from '../../src/cli/run.js';
import { ToolError } from '../../src/ground/errors.js';
import { seededRandom } from '../../src/ground/random.js';
import type { BookEntry } from '../../src/job/book.js';
import { mostWritten } from '../../src/job/chip-history.js';
import { openKeep } from '../../src/job/keep.js';
import { MockChip, type MockChipOptions } from '../mock/mock-chip.js';
import { mockWriter } from '../mock/mock-writer.js';
import { fakeWorld } from '../support/fake-world.js';

/** A world with a mock writer at its port; `romkiln` runs a command on it. */
function bench(chip = 'AT28C16', more: Partial<MockChipOptions> = {}) {
  const part = findPart(chip);
  const seated = new MockChip({
    cells: part.cells,
    page: part.pageBytes.value,
    cycleUs: 200,
    codes: part.protection.value,
    contents: seededRandom(9).bytes(part.cells),
    ...more,
  });
  const mock = mockWriter({ chip: seated });
  const world = fakeWorld({ openSerial: mock.open });
  const romkiln = (...words: string[]): Promise<number> =>
    run([...words, '--chip', chip, '--port', 'bench', '--quiet'], world);
  const book = (): BookEntry[] =>
    Buffer.from(world.files.stored.get('/data/book.jsonl') ?? [])
      .toString()
      .split('\n')
      .filter((line) => line !== '')
      .map((line) => JSON.parse(line));
  /** At a write in the middle of the rules. */
  const inTheMiddle = (happens: () => void): void => {
    const { write } = seated;
    let count = 0;
    seated.write = (...args) => {
      if (++count === 40) happens();
      return write.apply(seated, args);
    };
  };
  return { world, mock, seated, before: seated.cells.slice(), romkiln, book, inTheMiddle };
}

const keptOf = (world: ReturnType<typeof fakeWorld>) => openKeep(world.files, '/data/keep').list().records;

describe('conform with a scratch chip', () => {
  it.each(['AT28C16', 'CAT28C64B'])(
    'when an %s is written then what it held is in the keep, the note says at least as many writes as the book, and it reads as before',
    async (chip) => {
      const { world, seated, before, romkiln, book } = bench(chip);
      expect(await romkiln('conform', '--scratch', '--label', 'U3')).toBe(0);
      expect(seated.cells).toEqual(before);
      const [record] = keptOf(world);
      expect(openKeep(world.files, '/data/keep').runsOf(record!)).toEqual([{ from: 0, bytes: before }]);
      const [line] = book();
      const about = { command: 'conform', label: 'U3', record: record!.id, exit: 0 };
      expect(line).toMatchObject({ ...about, outcome: { kind: 'put-back', sound: true } });
      expect(mostWritten([record!.burn!])!.times).toBeGreaterThanOrEqual(mostWritten([line!])!.times);
      expect(mostWritten([line!])!.times).toBeGreaterThan(Math.max(...seated.wear) / 2);
    },
  );

  it('when no part is named then it says that it needs one, and no cell is written', async () => {
    const { world, mock } = bench();
    expect(await run(['conform', '--scratch', '--port', 'bench', '--quiet'], world)).toBe(2);
    expect(world.err()).toContain('"conform" needs --chip <part>: with --scratch it writes cells of a part');
    expect(mock.counts().cycles).toBe(0);
  });

  it('when the keep takes nothing then no cell is written', async () => {
    const { world, mock, romkiln } = bench();
    world.files.failing = 'the disk is full';
    expect(await romkiln('conform', '--scratch')).toBe(2);
    expect(mock.counts().cycles).toBe(0);
  });

  it('when it is interrupted in the middle then the cells are put back, the book says so, and it ends with 130', async () => {
    const { world, seated, before, romkiln, book, inTheMiddle } = bench();
    inTheMiddle(() => world.interruptNow());
    expect(await romkiln('conform', '--scratch')).toBe(130);
    expect(seated.cells).toEqual(before);
    expect(world.out()).toContain('Interrupted before all rules were tried.');
    expect(book()).toMatchObject([{ outcome: { kind: 'broken-off', putBack: true }, exit: 130 }]);
  });

  it('when it is interrupted before anything was written then it ends with 130, and the chip is not in doubt', async () => {
    const { world, mock, romkiln } = bench();
    world.interruptNow();
    expect(await romkiln('conform', '--scratch')).toBe(130);
    expect([mock.counts().cycles, keptOf(world)]).toEqual([0, []]);
  });

  it('when the port is lost in the middle then the record is named, and a restore of it brings everything back', async () => {
    const { world, mock, seated, before, romkiln, book, inTheMiddle } = bench();
    let gone = false;
    const link = mock.open;
    inTheMiddle(() => {
      gone = true;
    });
    const openSerial: typeof link = async (...words) => {
      const opened = await link(...words);
      const { send } = opened;
      opened.send = async (text) => {
        if (gone) throw new ToolError('link.gone', { path: 'bench' } as never);
        return send.call(opened, text);
      };
      return opened;
    };
    Object.assign(world, { openSerial });
    expect(await romkiln('conform', '--scratch')).not.toBe(0);
    expect(seated.cells).not.toEqual(before);
    const [record] = keptOf(world);
    expect(world.err()).toContain(`"romkiln restore ${record!.id}" writes`);
    expect(book()).toMatchObject([{ record: record!.id, outcome: { kind: 'broken-off', putBack: false } }]);
    gone = false;
    expect(await romkiln('restore', record!.id)).toBe(0);
    expect(seated.cells).toEqual(before);
  });

  it('when a cell reads unsteadily then nothing is written, unless nobody wants it kept', async () => {
    const faults = [{ kind: 'unsteady-cell', address: 700, bit: 3 } as const];
    const refused = bench('AT28C16', { faults });
    expect(await refused.romkiln('conform', '--scratch')).toBe(4);
    expect(refused.world.err()).toMatch(/cannot be kept, so nothing was written: \d+ cells? read otherwise/);
    expect([refused.mock.counts().cycles, keptOf(refused.world), refused.book()]).toEqual([0, [], []]);
    const discarded = bench('AT28C16', { faults });
    await discarded.romkiln('conform', '--scratch', '--discard');
    expect(discarded.mock.counts().cycles).toBeGreaterThan(0);
    expect(keptOf(discarded.world)).toMatchObject([{ runs: [], burn: { command: 'conform' } }]);
  });

  it('when a cell does not come back then that is said, entered, and no success', async () => {
    const { before, romkiln, book } = bench('AT28C16', {
      faults: [{ kind: 'weak-cell', address: 5, bit: 0, level: 0 }],
      contents: new Uint8Array(2048).fill(0xff),
    });
    expect(before[5]).toBe(0xff);
    expect(await romkiln('conform', '--scratch')).toBe(1);
    expect(book()).toMatchObject([{ outcome: { kind: expect.stringMatching(/put-back$/) }, exit: 1 }]);
  });

  it('when no chip is written then --label and --discard are refused', async () => {
    expect(await bench().romkiln('conform', '--label', 'U3')).toBe(2);
    expect(await bench().romkiln('conform', '--discard')).toBe(2);
  });
});
