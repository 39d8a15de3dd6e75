// romkiln rig as a person meets it: what must be in the socket, what becomes of the chip, and its line in the book.
import { describe, expect, it } from 'vitest';
import { findPart, wholeChipCycles } from '../../src/chip/chip-table.js';
import { parseWiringFault } from '../../src/chip/wiring-fault.js';
import { run } from '../../src/cli/run.js';
import { seededRandom } from '../../src/ground/random.js';
import type { BookEntry } from '../../src/job/book.js';
import { mostWritten } from '../../src/job/chip-history.js';
import { openKeep } from '../../src/job/keep.js';
import { isAmong } from '../../src/job/page-list.js';
import { MockChip, type MockChipOptions } from '../mock/mock-chip.js';
import { mockWriter } from '../mock/mock-writer.js';
import { fakeWorld } from '../support/fake-world.js';

interface Bench {
  readonly chip?: string;
  readonly wires?: readonly string[];
  readonly more?: Partial<MockChipOptions>;
  readonly answers?: readonly string[];
}

/** A world with a mock writer at its port; `rig` runs the command on it. */
function bench({ chip = 'AT28C64B', wires = [], more = {}, answers = [] }: Bench = {}) {
  const part = findPart(chip);
  const contents = seededRandom(9).bytes(part.cells);
  const seated = new MockChip({
    cells: part.cells,
    page: part.pageBytes.value,
    cycleUs: 200,
    codes: part.protection.value,
    contents,
    ...more,
  });
  const registers = Math.ceil(part.addressLines / 8);
  const mock = mockWriter({ chip: seated, registers, wiring: wires.map(parseWiringFault) });
  const world = fakeWorld({ openSerial: mock.open, answers, initialFiles: { 'known.bin': contents } });
  const rig = (...words: string[]): Promise<number> =>
    run(['rig', ...words, '--chip', chip, '--port', 'bench', '--quiet'], world);
  const book = (): BookEntry[] =>
    Buffer.from(world.files.stored.get('/data/book.jsonl') ?? [])
      .toString()
      .trim()
      .split('\n')
      .map((line) => JSON.parse(line));
  /** In the middle of the tests, at their twelfth write. */
  const inTheMiddle = (happens: () => void): void => {
    const { write } = seated;
    let count = 0;
    seated.write = (...args) => {
      if (++count === 12) happens();
      return write.apply(seated, args);
    };
  };
  return { world, seated, before: seated.cells.slice(), mock, rig, book, inTheMiddle };
}

const absent = { more: { faults: [{ kind: 'absent' } as const] } };
/** A cell that does not take what it held before. */
const weak = (address: number, held: number) =>
  ({ kind: 'weak-cell', address, bit: 0, level: held & 1 ? 0 : 1 }) as const;

describe('an empty socket', () => {
  it('when it is asked for then nothing else is said about it, and the check ends with 0', async () => {
    const { world, rig } = bench(absent);
    expect(await rig('--empty', '--yes')).toBe(0);
    expect(world.err()).toBe('');
    expect(world.out()).toContain('Passed what these tests cover.');
  });

  it.each([['--scratch'], ['--reference', 'known.bin']])(
    'when %s needs a chip then that is refused, and no wire is blamed',
    async (...words) => {
      const { world, rig } = bench(absent);
      expect(await rig(...words, '--yes')).toBe(4);
      expect(world.err()).toContain('No chip drives the data lines');
      expect(world.out()).toBe('');
    },
  );

  it('when a chip is in it after all then that is said', async () => {
    const { world, rig } = bench();
    expect(await rig('--empty', '--yes')).toBe(4);
    expect(world.err()).toContain('the socket is not empty');
    expect(world.out()).toBe('');
  });
});

describe('several stages', () => {
  it('when the second one cannot be done then what the first one found is said before', async () => {
    const { world, rig } = bench(absent);
    expect(await rig('--empty', '--scratch', '--yes')).toBe(4);
    expect(world.out()).toContain('data lines pulled up without a chip');
    expect(world.err()).toContain('No chip drives the data lines');
  });

  it('when the person stops between them then it is said what was done', async () => {
    const some = bench({ ...absent, answers: ['yes', 'no'] });
    expect(await some.rig('--empty', '--scratch')).toBe(130);
    expect(some.world.err()).toContain('take the chip out so that the socket is empty');
    expect(some.world.err()).toContain('Stopped before --scratch; --empty was done.');
    expect(some.world.out()).toContain('Passed what these tests cover.');
    const none = bench({ answers: ['no'] });
    expect(await none.rig('--scratch', '--reference', 'known.bin')).toBe(130);
    expect(none.world.err()).toContain('Stopped before --scratch; nothing was done.');
    expect(none.world.out()).toBe('');
  });

  it('when a program asks then it gets one object, of all stages or of the error', async () => {
    const whole = bench();
    expect(await whole.rig('--scratch', '--reference', 'known.bin', '--yes', '--json')).toBe(0);
    expect(whole.world.json()).toMatchObject({ sound: true, scratch: { written: true, changed: [] }, unseen: [] });
    const half = bench(absent);
    expect(await half.rig('--empty', '--scratch', '--yes', '--json')).toBe(4);
    expect(half.world.json()).toMatchObject({ errors: [{ code: 'writer.not-driven' }] });
  });
});

describe('what becomes of a scratch chip', () => {
  it('when all is well then it is said to read as before, and the book has its pages and its label', async () => {
    const { world, rig, seated, before, book, mock } = bench();
    expect(await rig('--scratch', '--yes', '--label', 'U7')).toBe(0);
    expect(seated.cells).toEqual(before);
    expect(world.out()).toMatch(
      /The chip reads as it did before; a copy of that is in the keep under [0-9a-f]{12}\.\n$/,
    );
    const [line] = book();
    expect(line).toMatchObject({
      command: 'rig',
      label: 'U7',
      image: null,
      outcome: { kind: 'put-back', sound: true },
      exit: 0,
    });
    // Powers of two, and the witness at 0x0AAA; what was written several times stands there as often.
    expect(line!.pages).toMatch(/^0-2,4,8,16,32,42,64,0-2,/);
    const asked = bench();
    asked.world.files.stored.set('/data/book.jsonl', world.files.stored.get('/data/book.jsonl')!);
    expect(await run(['book', '--label', 'U7'], asked.world)).toBe(0);
    const times = Number(/page, 0, was written (\d+) times in 1 job/.exec(asked.world.out())![1]);
    expect(times).toBeGreaterThan(8 + 2 * 6);
    expect(times).toBeLessThan(mock.counts().cycles);
  });

  it.each(['AT28C64B', 'AT28C16'])(
    'when it wrote to an %s then the note made before says at least as many writes of each page as the line in the book',
    async (chip) => {
      const { world, rig, book } = bench({ chip });
      expect(await rig('--scratch', '--yes')).toBe(0);
      const [record] = openKeep(world.files, '/data/keep').list().records;
      const noted = mostWritten([record!.burn!])!;
      expect(noted.times).toBeGreaterThanOrEqual(mostWritten(book())!.times);
      expect(isAmong(`0-${wholeChipCycles(findPart(chip)) - 1}`, record!.burn!.pages)).toBe(true);
    },
  );

  it('when D3 is stuck at 1 over cells of 00 then it is named, nothing is written, and that is said and entered', async () => {
    const { world, rig, seated, book, mock } = bench({ wires: ['D3 stuck 1'], more: { contents: 0 } });
    expect(await rig('--scratch', '--yes')).toBe(1);
    expect(world.out()).toContain('Data line D3 is stuck high.');
    expect(world.out()).toContain('Nothing was written to the chip: D3 does not carry each level');
    expect(mock.counts().cycles).toBe(0);
    expect(seated.cells.every((byte) => byte === 0)).toBe(true);
    expect(book()).toMatchObject([{ command: 'rig', pages: '', outcome: { kind: 'nothing-written' }, exit: 1 }]);
    const program = bench({ wires: ['D1 D2 shorted low'] });
    expect(await program.rig('--scratch', '--yes', '--json')).toBe(1);
    expect(program.world.json()).toMatchObject({ scratch: { written: false, kept: null } });
  });

  it('when cells do not come back then it says how many, from where to where, and how to get them back', async () => {
    const { world, rig, seated, before, book } = bench();
    const { write } = seated;
    seated.write = (...args) => {
      seated.faults = [weak(0, before[0]!), weak(64, before[64]!)];
      write.apply(seated, args);
    };
    expect(await rig('--scratch', '--yes', '--label', 'U7')).toBe(4);
    expect(world.err()).toMatch(
      /2 cells differ from before the check: from 0x0000 to 0x0040\.\n {2}"romkiln restore [0-9a-f]{12}" writes back/,
    );
    expect(world.out()).not.toContain('reads as it did before');
    expect(book()).toMatchObject([{ outcome: { kind: 'not-put-back', cells: 2 }, exit: 4 }]);
    expect(await run(['book', '--label', 'U7'], world)).toBe(0);
  });

  it('when the cable is pulled in the middle then it is said that test bytes may be left, and where the old ones are', async () => {
    const { world, rig, mock, book, inTheMiddle } = bench();
    inTheMiddle(() => mock.unplug());
    expect(await rig('--scratch', '--yes')).toBe(3);
    expect(world.err()).toMatch(/broke off before the chip was put back: 0x0000\.\.0x1FFF may hold test bytes/);
    expect(world.err()).toMatch(/romkiln restore [0-9a-f]{12}/);
    expect(world.err()).toContain('link.gone');
    expect(book()).toMatchObject([{ outcome: { kind: 'broken-off', putBack: false } }]);
  });

  it('when it never comes ready after a write then that is said and no wire is blamed, and the book has its one write', async () => {
    // So many cells that a list of them all is too long for the arguments of one call.
    const { world, rig, mock, book } = bench({ chip: 'AT28C010', more: { faults: [{ kind: 'never-ready' }] } });
    expect(await rig('--scratch', '--yes')).toBe(4);
    expect(world.err()).toContain('job.still-busy');
    expect(world.err()).toMatch(/0x00000\.\.0x1FFFF may hold test bytes\.\n {2}"romkiln restore [0-9a-f]{12}"/);
    expect(world.out()).toBe('');
    expect(mock.counts().cycles).toBe(1);
    expect(book()).toMatchObject([{ pages: '0', outcome: { kind: 'broken-off', putBack: false }, exit: 4 }]);
  });

  it.each(['AT28C16', 'AT28C64B'])(
    'when an %s is slower than its row then that is said and no wire is blamed, and it reads as before',
    async (chip) => {
      const { world, rig, seated, before, book } = bench({ chip, more: { cycleUs: 40_000 } });
      expect(await rig('--scratch', '--yes')).toBe(4);
      expect(world.err()).toContain('job.slow-chip');
      expect(world.err()).toContain('Every cell of the chip reads as before the check.');
      expect(world.out()).toBe('');
      expect(seated.cells).toEqual(before);
      expect(book()).toMatchObject([{ pages: '0,0', outcome: { kind: 'broken-off', putBack: true }, exit: 4 }]);
    },
  );

  it('when it is interrupted then the chip is put back, and the command ends with 130', async () => {
    const { world, rig, seated, before, book, inTheMiddle } = bench();
    inTheMiddle(() => world.interruptNow());
    expect(await rig('--scratch', '--yes')).toBe(130);
    expect(seated.cells).toEqual(before);
    expect(book()).toMatchObject([{ outcome: { kind: 'broken-off', putBack: true }, exit: 130 }]);
  });

  it('when the codes come through one way only then it is said that the chip is protected now', async () => {
    const { world, rig, seated } = bench({ wires: ['D5 D7 crossed'] });
    expect(await rig('--scratch', '--yes')).toBe(1);
    expect(seated.protected).toBe(true);
    expect(world.out()).toContain('The chip is write-protected now');
  });
});

describe('a chip that takes no test write', () => {
  it.each([
    ['AT28C64B', 'It is probably protected: "romkiln unprotect" switches that off.'],
    ['28C64', '"romkiln unprotect --chip AT28C64B" switches that off'],
    ['28C16', '"romkiln unprotect --chip <that part>" switches that off'],
  ])(
    'when it is protected and taken as %s then unprotect is named, and nothing is in the book as written',
    async (chip, words) => {
      const part = findPart('AT28C64B');
      const { world, rig, book } = bench({
        chip,
        more: { cells: part.cells, page: 64, codes: true, protected: true, contents: 0x3c },
      });
      expect(await rig('--scratch', '--yes')).toBe(4);
      expect(world.err()).toContain('took none of the test writes');
      expect(world.err()).toContain(words);
      expect(book()).toMatchObject([{ outcome: { kind: 'refused' }, pages: '', exit: 4 }]);
    },
  );
});
