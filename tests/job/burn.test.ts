import { describe, expect, it } from 'vitest';
import type { Part } from '../../src/chip/part.js';
import type { Image } from '../../src/image/image.js';
import { BurnBrokenOff, type BurnOptions, type BurnOutcome, burn } from '../../src/job/burn.js';
import { type BurnPlan, type BurnPlanOptions, planBurn } from '../../src/job/burn-plan.js';
import { openKeep } from '../../src/job/keep.js';
import type { Kept } from '../../src/job/recorded-write.js';
import { memoryFiles } from '../support/memory-files.js';
import {
  cellPart,
  everyCell,
  imageOf,
  imageWith,
  pagePart,
  type Seated,
  type SeatedOptions,
  seated,
  withChanged,
  withChangedPages,
} from './seated.js';

type Terms = Partial<BurnOptions & Pick<BurnPlanOptions, 'keep'>> & { readonly part?: Part };

const planOf = (on: Seated, image: Image, { part = pagePart, keep = true, range = everyCell(part) }: Terms = {}) =>
  planBurn(on.writer, part, image, { range, keep });

/** The record of what a plan overwrites. */
const keptOf = (plan: BurnPlan, keep = true): Kept => {
  const about = { time: '2026-01-02T03:04:05.000Z', chip: 'AT28C64B', label: null, port: 'mock', image: 'skerry' };
  return keep ? openKeep(memoryFiles(), 'keep').store(about, plan.old) : 'discarded';
};

/** Plans and burns an image of the small chip. */
async function burned(on: Seated, image: Image, terms: Terms = {}, plan?: BurnPlan): Promise<BurnOutcome> {
  const { keep: _, part = pagePart, ...options } = terms;
  const work = plan ?? (await planOf(on, image, terms));
  return burn(on.writer, part, image, work, keptOf(work, terms.keep), {
    range: everyCell(part),
    ...options,
  });
}

/** Cells that went through at least one write cycle. */
const worn = (on: Seated): number[] => [...on.chip.wear.keys()].filter((cell) => on.chip.wear[cell]! > 0);

/** With a line that is faster than the chip: blocks wait in the writer and can still be dropped. */
async function seatedFast(chip: SeatedOptions['chip'] = {}): Promise<Seated> {
  const on = await seated({ chip: { ...chip, cycleUs: 3000 } });
  await on.writer.setRate(1_000_000);
  return on;
}

describe('a burn', () => {
  it('when cells differ then they alone are written, and the whole image is verified', async () => {
    const on = await seated();
    const wanted = withChanged(on.before, 3, 200, 1023);
    expect(await burned(on, imageOf(wanted))).toMatchObject({
      verified: true,
      written: 3,
      skipped: 13,
      total: 16,
      failed: [],
      refused: false,
      interrupted: false,
      beside: [],
      inDoubt: [],
      difference: { same: true, compared: 1024 },
    });
    expect(on.chip.cells).toEqual(wanted);
    expect(worn(on)).toEqual([3, 200, 1023]);
  });

  it('when bytes are not defined then they keep what they held, also between and beside written ones', async () => {
    const on = await seated();
    const outcome = await burned(on, imageWith(1024, { 70: 1, 75: 2, 300: 3 }));
    const wanted = on.before.slice();
    for (const [cell, byte] of [
      [70, 1],
      [75, 2],
      [300, 3],
    ] as const)
      wanted[cell] = byte;
    expect(outcome).toMatchObject({ verified: true, total: 2, difference: { compared: 3 } });
    expect(on.chip.cells).toEqual(wanted);
  });

  it('when a range is given then cells outside it keep what they held', async () => {
    const on = await seated();
    const wanted = imageOf(withChangedPages(on.before, 1, 2, 3));
    expect(await burned(on, wanted, { range: { from: 100, to: 200 } })).toMatchObject({ verified: true, total: 3 });
    const changed = [...on.before.keys()].filter((cell) => on.chip.cells[cell] !== on.before[cell]);
    expect([changed[0], changed.at(-1), changed.length]).toEqual([100, 200, 101]);
  });

  it('when nothing differs then nothing is written, and everything is read back all the same', async () => {
    const on = await seated();
    const image = imageOf(on.before);
    const plan = await planOf(on, image);
    on.asked.length = 0;
    expect(await burned(on, image, {}, plan)).toMatchObject({ verified: true, written: 0, skipped: 16 });
    expect(on.asked).toContain('read 0 1024');
    expect(on.mock.counts().cycles).toBe(0);
  });

  it('when a chip is written cell by cell then only cells that differ are', async () => {
    const on = await seated({ part: cellPart });
    const image = imageOf(withChanged(on.before, 7, 130));
    const range = everyCell(cellPart);
    const plan = await planBurn(on.writer, cellPart, image, { range, keep: true });
    expect(await burn(on.writer, cellPart, image, plan, keptOf(plan), { range })).toMatchObject({
      verified: true,
      written: 2,
    });
    expect(worn(on)).toEqual([7, 130]);
  });

  it('when it goes on then it tells each block written and each cell read back, up to the last', async () => {
    const on = await seated();
    const written: [number, number][] = [];
    const verified: number[] = [];
    await burned(on, imageOf(withChangedPages(on.before, 1, 2, 7)), {
      onWritten: (...counts) => written.push(counts),
      onVerified: (done, total) => verified.push(done, total),
    });
    expect(written).toEqual([
      [1, 3],
      [2, 3],
      [3, 3],
    ]);
    expect(verified.slice(-2)).toEqual([1024, 1024]);
  });

  it('when a cell changes where nothing was written then it is not verified, and the cell is named', async () => {
    const on = await seated();
    const outcome = await burned(on, imageOf(withChanged(on.before, 3)), {
      onWritten: () => {
        on.chip.cells[700]! ^= 0x10;
      },
    });
    expect(outcome).toMatchObject({ verified: false, failed: [], difference: { bytes: 1, runs: [{ from: 700 }] } });
  });
});

describe('cells that do not take', () => {
  const stuck = (address: number, level: 0 | 1) => ({ kind: 'weak-cell', address, bit: 0, level }) as const;

  it('when a cell takes at the second try then the burn is verified', async () => {
    const on = await seated({ chip: { contents: 0x00 } });
    const image = imageWith(1024, { 5: 0x01, 70: 0x01 });
    const plan = await planOf(on, image);
    on.chip.faults = [stuck(5, 0)];
    const outcome = await burned(on, image, { onWritten: () => (on.chip.faults = []) }, plan);
    expect(outcome).toMatchObject({ verified: true, written: 2, failed: [], refused: false });
    // Each try costs the page a cycle.
    expect(outcome.blocksWritten.map((b) => b.address)).toEqual([5, 70, 5]);
  });

  it('when a cell never takes then it is tried twice, named with what it held, and everything else is written', async () => {
    const on = await seated({ chip: { contents: 0x00, faults: [stuck(5, 0)] } });
    const cycles = on.mock.counts().cycles;
    const outcome = await burned(on, imageWith(1024, { 5: 0x03, 70: 0x01 }));
    expect(outcome).toMatchObject({
      verified: false,
      written: 1,
      failed: [{ address: 5, wanted: 3, actual: 2, before: 0 }],
      refused: false,
      interrupted: false,
      difference: { bytes: 1 },
    });
    // Each try costs the page a cycle.
    expect(outcome.blocksWritten.map((b) => b.address)).toEqual([5, 70, 5]);
    expect(on.mock.counts().cycles - cycles).toBe(3);
  });

  it('when a cell of a chip without page mode does not take then what its line held behind it is not worn', async () => {
    const on = await seated({ part: cellPart, chip: { contents: 0x00, faults: [stuck(7, 0)] } });
    const image = imageWith(cellPart.cells, { 5: 1, 7: 1, 9: 1, 70: 1 });
    const outcome = await burned(on, image, { part: cellPart });
    const counted = outcome.blocksWritten.flatMap((b) => b.changes);
    expect(counted.filter((cell) => cell === 9)).toEqual([]);
    expect([...new Set(counted)].sort((a, b) => a - b)).toEqual(worn(on));
  });

  it('when every block that was tried still holds what it held then the chip refuses, unless another one took', async () => {
    const on = await seated({ chip: { faults: [{ kind: 'dead-page', address: 64 }] } });
    const held = on.before[70]!;
    const failed = [{ address: 70, wanted: held ^ 1, actual: held, before: held }];
    expect(await burned(on, imageWith(1024, { 70: held ^ 1 }))).toMatchObject({ failed, refused: true });
    const some = await burned(on, imageWith(1024, { 5: on.before[5]! ^ 1, 70: held ^ 1, 130: on.before[130]! ^ 1 }));
    expect(some).toMatchObject({ verified: false, written: 2, failed, refused: false });
  });

  it('when nobody knows what was there and one data line hides what was taken then the chip does not refuse', async () => {
    const on = await seated({ wiring: [{ kind: 'stuck', line: 'D6', level: 0 }], chip: { contents: 0xff } });
    const image = imageOf(new Uint8Array(1024).map((_, i) => (i % 64 < 8 ? 0x40 : i * 5) & 0xff));
    const outcome = await burned(on, image, { keep: false });
    expect(outcome).toMatchObject({ verified: false, written: 0, refused: false, oneLine: { line: 6, level: 0 } });
  });

  it.each([true, false])(
    'when a data line is stuck then no block takes, and yet the chip does not refuse: kept %s',
    async (keep) => {
      const wiring = [{ kind: 'stuck', line: 'D3', level: 1 } as const];
      const on = await seated({ wiring, chip: { contents: 0x00 } });
      const image = imageOf(new Uint8Array(1024).map((_, i) => (i * 37) & 0xff));
      const outcome = await burned(on, image, { keep });
      expect(outcome).toMatchObject({ verified: false, written: 0, refused: false, oneLine: { line: 3, level: 1 } });
      expect(outcome.blocksWritten.length).toBe(2 * outcome.failed.length);
      // The first cell of each failed block reads as it did, which is no proof that nothing changed.
      expect(outcome.failed[0]).toMatchObject({ actual: 0x08, before: keep ? 0x08 : null });
      expect(on.chip.cells[1]).not.toBe(0);
    },
  );

  it('when what was there was read from the middle of the chip on then a failed cell is told with its own', async () => {
    const on = await seated({ chip: { faults: [{ kind: 'dead-page', address: 704 }] } });
    const held = on.before[710]!;
    const outcome = await burned(on, imageWith(1024, { 710: held ^ 1 }));
    expect(outcome.failed).toEqual([{ address: 710, wanted: held ^ 1, actual: held, before: held }]);
  });

  it('when one failed cell changed and another did not then the chip does not refuse, it is worn', async () => {
    const faults = [{ kind: 'dead-page', address: 64 } as const, stuck(5, 0)];
    const on = await seated({ chip: { contents: 0x00, faults } });
    const outcome = await burned(on, imageWith(1024, { 5: 3, 70: 1 }));
    expect(outcome.failed).toHaveLength(2);
    expect(outcome.refused).toBe(false);
  });

  it('when nobody looked at what was there then the chip refuses only if it took nothing at all', async () => {
    const image = imageOf(new Uint8Array(1024).fill(1));
    const worn = await seated({ chip: { contents: 0x00, faults: [{ kind: 'dead-page', address: 0 }] } });
    const outcome = await burned(worn, image, { keep: false });
    expect(outcome.failed).toMatchObject([{ address: 0, wanted: 1, actual: 0, before: null }]);
    expect(outcome.refused).toBe(false);
    const closed = await seatedFast({ contents: 0x00, protected: true });
    expect(await burned(closed, image, { keep: false })).toMatchObject({ refused: true, written: 0 });
  });

  it('when four blocks in a row do not take then the rest is not tried, and no block is tried again', async () => {
    const on = await seatedFast({ contents: 0x00, protected: true });
    const outcome = await burned(on, imageOf(new Uint8Array(1024).fill(1)));
    expect(outcome).toMatchObject({ verified: false, written: 0, refused: true, interrupted: false });
    // The block in progress when the fourth refusal is heard still ends.
    expect(outcome.failed.length).toBeGreaterThanOrEqual(4);
    expect(outcome.failed.length).toBeLessThan(10);
    expect(on.mock.counts().cycles).toBe(outcome.failed.length);
    expect(outcome.difference?.bytes).toBe(1024);
  });

  it('when the fourth block in a row does not take then the writer is told to stop, not before and not later', async () => {
    const on = await seated({ chip: { contents: 0x00, protected: true } });
    const { writeBlocks } = on.writer;
    let signal: AbortSignal | undefined;
    on.writer.writeBlocks = (blocks, options) => {
      signal = options?.signal;
      return writeBlocks.call(on.writer, blocks, options);
    };
    const stopped: boolean[] = [];
    await burned(on, imageOf(new Uint8Array(1024).fill(1)), {
      onWritten: () => stopped.push(signal?.aborted ?? false),
    });
    expect(stopped.slice(0, 5)).toEqual([false, false, false, true, true]);
  });

  it('when three blocks in a row do not take, and again later, then all are tried', async () => {
    const dead = [0, 1, 2, 4, 5, 6].map((page) => ({ kind: 'dead-page', address: page * 64 }) as const);
    const on = await seated({ chip: { contents: 0x00, faults: dead } });
    const outcome = await burned(on, imageOf(new Uint8Array(1024).fill(1)));
    expect(outcome).toMatchObject({ written: 10, verified: false });
    expect(outcome.failed.map((f) => f.address)).toEqual([0, 64, 128, 256, 320, 384]);
  });
});

describe('an interrupted burn', () => {
  /** Burns all pages; the signal comes when `after` blocks are written. */
  async function interrupted(after: number) {
    const on = await seatedFast();
    const interrupt = new AbortController();
    const wanted = withChanged(on.before, ...on.before.keys());
    const progress: number[] = [];
    const outcome = await burned(on, imageOf(wanted), {
      signal: interrupt.signal,
      onWritten: (done) => {
        progress.push(done);
        if (done === after) interrupt.abort();
      },
    });
    return { on, outcome, wanted, progress };
  }

  it.each([
    ['did not take', { faults: [{ kind: 'dead-page', address: 0 }] }, [{ from: 0, to: 1023 }]],
    ['took', {}, []],
  ] as const)('when codes went before a block that %s then what is in doubt is said', async (_, chip, inDoubt) => {
    const on = await seatedFast(chip);
    const interrupt = new AbortController();
    const outcome = await burned(on, imageOf(withChanged(on.before, 0, 100, 200, 300)), {
      codes: true,
      signal: interrupt.signal,
      onWritten: () => interrupt.abort(),
    });
    expect(outcome).toMatchObject({ interrupted: true, inDoubt });
  });

  it('when blocks are dropped then the progress ends at what was written', async () => {
    const { outcome, progress } = await interrupted(3);
    expect(outcome.written).toBeLessThan(outcome.total);
    expect(progress).toEqual(Array.from({ length: outcome.written }, (_, i) => i + 1));
  });

  it('when the signal comes then what was begun is finished, the rest is as before, and that is said', async () => {
    const { on, outcome, wanted } = await interrupted(3);
    expect(outcome).toMatchObject({ verified: false, interrupted: true, difference: null, failed: [], inDoubt: [] });
    expect(outcome.written).toBeGreaterThanOrEqual(3);
    expect(outcome.written).toBeLessThan(10);
    expect(outcome.blocksWritten.map((b) => b.address)).toEqual(
      Array.from({ length: outcome.written }, (_, i) => i * 64),
    );
    const end = outcome.written * 64;
    expect(on.chip.cells.subarray(0, end)).toEqual(wanted.subarray(0, end));
    expect(on.chip.cells.subarray(end)).toEqual(on.before.subarray(end));
  });

  it('when it is run again then the finished pages are skipped and the chip ends right', async () => {
    const { on, outcome, wanted } = await interrupted(3);
    const again = await burned(on, imageOf(wanted));
    expect(again).toMatchObject({ verified: true, skipped: outcome.written, written: 16 - outcome.written });
    expect(on.chip.cells).toEqual(wanted);
    expect(Math.max(...on.chip.wear)).toBe(1);
  });

  it.each([
    [
      'the whole image',
      (cells: Uint8Array) => imageOf(withChanged(cells, 70)),
      { interrupted: true, verified: false, blocksWritten: [], beside: [], inDoubt: [] },
    ],
    [
      'an image with bystanders',
      (cells: Uint8Array) => imageWith(1024, { 70: cells[70]! ^ 1 }),
      { code: 'writer.stopped' },
    ],
  ])('when the signal came before the first write then nothing of %s is written', async (_, imageFor, wanted) => {
    const on = await seated();
    const image = imageFor(on.before);
    const plan = await planOf(on, image);
    const end = await burned(on, image, { signal: AbortSignal.abort() }, plan).catch((error) => error);
    expect(end).toMatchObject(wanted);
    expect(on.mock.counts().cycles).toBe(0);
  });

  it('when the signal comes during the second try then it is interrupted, not verified', async () => {
    const faults = [{ kind: 'weak-cell', address: 5, bit: 0, level: 0 }] as const;
    const on = await seated({ chip: { contents: 0x00, faults } });
    const interrupt = new AbortController();
    let heard = 0;
    const outcome = await burned(on, imageWith(1024, { 5: 1, 70: 1 }), {
      signal: interrupt.signal,
      onWritten: () => ++heard === 3 && interrupt.abort(),
    });
    expect(outcome).toMatchObject({ interrupted: true, verified: false, difference: null });
    expect(outcome.failed).toMatchObject([{ address: 5 }]);
  });
});

describe('a burn that is interrupted while it tries again', () => {
  it('when blocks are not tried again any more then what failed at first is still told', async () => {
    const faults = [0, 1, 2].map((page) => ({ kind: 'dead-page', address: page * 64 }) as const);
    const on = await seatedFast({ contents: 0x00, faults });
    const interrupt = new AbortController();
    let heard = 0;
    const outcome = await burned(on, imageWith(1024, { 0: 1, 64: 1, 128: 1, 192: 1 }), {
      signal: interrupt.signal,
      onWritten: () => ++heard === 5 && interrupt.abort(),
    });
    expect(outcome).toMatchObject({ interrupted: true, written: 1 });
    expect(outcome.failed.map((f) => f.address)).toEqual([0, 64, 128]);
  });

  it('when the chip is taken out meanwhile then it is interrupted all the same', async () => {
    const on = await seatedFast();
    const interrupt = new AbortController();
    const outcome = await burned(on, imageOf(withChangedPages(on.before, 1)), {
      signal: interrupt.signal,
      onWritten: () => {
        on.chip.faults = [{ kind: 'absent' }];
        interrupt.abort();
      },
    });
    expect(outcome).toMatchObject({ interrupted: true, verified: false, beside: [] });
  });

  it('when burns go by then none of them keeps listening to the signal', async () => {
    const on = await seated();
    const { signal } = new AbortController();
    let listening = 0;
    const add = signal.addEventListener.bind(signal);
    const remove = signal.removeEventListener.bind(signal);
    signal.addEventListener = ((...args: Parameters<typeof add>) => {
      listening++;
      add(...args);
    }) as typeof signal.addEventListener;
    signal.removeEventListener = ((...args: Parameters<typeof remove>) => {
      listening--;
      remove(...args);
    }) as typeof signal.removeEventListener;
    await burned(on, imageOf(withChanged(on.before, 3)), { signal });
    expect(listening).toBe(0);
  });
});

describe('cells that nobody asked to change', () => {
  it('when a cell beside written ones in their page changes then it is said', async () => {
    const on = await seated();
    const outcome = await burned(on, imageWith(1024, { 70: on.before[70]! ^ 1 }), {
      onWritten: () => {
        for (const cell of [80, 81, 90]) on.chip.cells[cell]! ^= 0xff;
      },
    });
    expect(outcome.verified).toBe(true);
    expect(outcome.beside).toEqual([
      { from: 80, to: 81, lines: [] },
      { from: 90, to: 90, lines: [] },
    ]);
  });

  it('when a smaller chip repeats a cell between others that were right already then it is named too, and every line', async () => {
    const on = await seated({ chip: { cells: 256 } });
    // In the page at 0 the cell 5 changes; of the page at 0x100, the same one, the image says only what is there.
    const image = imageWith(1024, { 5: on.before[5]! ^ 0xff, 257: on.before[1]! });
    const { verified, beside } = await burned(on, image);
    expect(verified).toBe(true);
    expect(beside).toEqual([
      { from: 0x105, to: 0x105, lines: [] },
      { from: 0x200, to: 0x23f, lines: [8, 9] },
      { from: 0x300, to: 0x33f, lines: [8, 9] },
    ]);
  });

  it('when the chip is half as large as said then the other half is named, with the line that makes no difference', async () => {
    const on = await seated({ chip: { cells: 512 } });
    const wanted = withChangedPages(new Uint8Array([...on.before, ...on.before]), 2);
    const image = imageOf(wanted);
    image.defined.fill(0, 512);
    expect(await burned(on, image)).toMatchObject({
      verified: true,
      beside: [{ from: 512 + 128, to: 512 + 191, lines: [9] }],
    });
  });

  it('when codes go along then the whole chip is watched', async () => {
    const on = await seated();
    const image = imageWith(1024, { 0: on.before[0]! ^ 1 });
    const onWritten = (): void => {
      // Three lines apart from the written page: no single line reaches it.
      on.chip.cells[7 * 64 + 3]! ^= 1;
    };
    expect((await burned(on, image, { codes: true, onWritten })).beside).toEqual([{ from: 448, to: 511, lines: [] }]);
    const without = await seated();
    const alone = await burned(without, imageWith(1024, { 0: without.before[0]! ^ 1 }), {
      onWritten: () => {
        without.chip.cells[7 * 64 + 3]! ^= 1;
      },
    });
    expect(alone.beside).toEqual([]);
  });
});

describe('a writer that is lost on the way', () => {
  const everyPage = (on: Seated) => imageOf(withChanged(on.before, ...on.before.keys()));

  it('when the supply fails in a write cycle then the page is put right, and what else stood in it', async () => {
    const on = await seated();
    const image = imageWith(1024, Object.fromEntries([64, 127, 200].map((cell) => [cell, on.before[cell]! ^ 1])));
    const plan = await planOf(on, image);
    on.mock.setMishaps([{ kind: 'browns-out', cycle: 1 }]);
    const outcome = await burned(on, image, {}, plan);
    expect(outcome).toMatchObject({ verified: true, interrupted: false, beside: [], inDoubt: [] });
    const wanted = on.before.slice();
    for (const cell of [64, 127, 200]) wanted[cell]! ^= 1;
    expect(on.chip.cells).toEqual(wanted);
  });

  it('when a page that was already answered is torn then it is written again, and counted for its wear', async () => {
    const on = await seated();
    const image = everyPage(on);
    const plan = await planOf(on, image);
    const outcome = await burned(
      on,
      image,
      {
        onWritten: (done) => {
          if (done !== 2) return;
          on.chip.cells.fill(0x77, 64, 70);
          on.mock.reset();
        },
      },
      plan,
    );
    expect(outcome).toMatchObject({ verified: true, beside: [] });
    expect(on.chip.cells).toEqual(image.bytes);
    // 16 pages, and the torn cells once more.
    expect(outcome.blocksWritten).toHaveLength(17);
    expect(outcome.blocksWritten.at(-1)?.address).toBe(64);
  });

  it('when the cable is pulled then it broke off, and blocks that were not answered are in doubt', async () => {
    const on = await seated();
    const image = everyPage(on);
    const error = await burned(on, image, { onWritten: (done) => done === 3 && on.mock.unplug() }).catch((e) => e);
    expect(error).toBeInstanceOf(BurnBrokenOff);
    expect(error).toMatchObject({ reason: { code: 'link.gone' }, inDoubt: [{ from: 192, to: 1023 }] });
    // Their wear counts, though the burn did not come to its end.
    expect(error.blocksWritten.map((b: { address: number }) => b.address)).toEqual([0, 64, 128]);
  });

  it('when blocks apart from each other are in doubt then each stretch is named', async () => {
    const on = await seated();
    const image = imageOf(withChanged(on.before, 70, 200, 260, 1000));
    const error = await burned(on, image, { onWritten: (done) => done === 1 && on.mock.unplug() }).catch((e) => e);
    expect(error.inDoubt).toEqual([
      { from: 192, to: 319 },
      { from: 960, to: 1023 },
    ]);
  });

  it('when codes went along then the whole chip is in doubt, but only if anything was sent', async () => {
    const on = await seated();
    const lost = (image: Image, plan: BurnPlan) =>
      burn(on.writer, pagePart, image, plan, keptOf(plan), { range: everyCell(pagePart), codes: true }).catch(
        (error) => error,
      );
    const nothing = imageOf(on.before);
    const something = imageOf(withChangedPages(on.before, 3));
    const plans = [await planOf(on, nothing), await planOf(on, something)] as const;
    on.writer.presence = async () => {
      throw new Error('lost');
    };
    expect((await lost(nothing, plans[0])).inDoubt).toEqual([]);
    expect((await lost(something, plans[1])).inDoubt).toEqual([{ from: 0, to: 1023 }]);
  });

  it('when the chip is taken out after the last write then it is not verified, and what was written is told', async () => {
    const on = await seated();
    const image = imageOf(withChanged(on.before, 70, 200));
    const error = await burned(on, image, {
      onWritten: (done) => {
        if (done === 2) on.chip.faults = [{ kind: 'absent' }];
      },
    }).catch((e) => e);
    expect(error).toBeInstanceOf(BurnBrokenOff);
    expect(error.reason).toMatchObject({ code: 'writer.not-driven' });
    expect(error.blocksWritten.map((b: { address: number }) => b.address)).toEqual([70, 200]);
    expect(error.inDoubt).toEqual([]);
  });

  it('when it restarted and was interrupted then every block of the burn is in doubt', async () => {
    const on = await seated();
    const interrupt = new AbortController();
    const outcome = await burned(on, imageOf(withChangedPages(on.before, 1, 2, 3, 9, 10, 11, 12, 13)), {
      signal: interrupt.signal,
      onWritten: (done) => {
        if (done === 1) on.mock.reset();
        if (done === 2) interrupt.abort();
      },
    });
    expect(outcome).toMatchObject({ interrupted: true, verified: false });
    expect(outcome.inDoubt).toEqual([
      { from: 64, to: 255 },
      { from: 576, to: 895 },
    ]);
  });
});

describe('a chip that is slower than its row', () => {
  it('when a page takes after its time then it is written, the chip is called late, and its cycle counts', async () => {
    const on = await seated({ chip: { cycleUs: 40_000 } });
    const image = imageWith(1024, { 5: 1 });
    const outcome = await burned(on, image);
    expect(outcome).toMatchObject({ verified: true, late: true, written: 1, tried: 1, failed: [], refused: false });
    expect(outcome.blocksWritten.map((b) => b.address)).toEqual([5]);
  });

  it('when cells take after their time then none of them is called one that did not take, and nothing is refused', async () => {
    const on = await seated({ part: cellPart, chip: { cycleUs: 8000 } });
    const outcome = await burned(on, imageOf(withChanged(on.before, ...Array.from(on.before.keys()))), {
      part: cellPart,
    });
    expect(outcome).toMatchObject({ verified: false, late: true, refused: false });
    const reads = await on.writer.read(0, cellPart.cells);
    for (const { address, wanted } of outcome.failed) expect(reads[address]).not.toBe(wanted);
    expect(outcome.blocksWritten.length).toBe(outcome.tried);
    const changed = [...reads.keys()].filter((cell) => reads[cell] !== on.before[cell]);
    expect(changed.length).toBeGreaterThan(0);
    // The first cell that does not come ready in time ends its line, and what was not loaded is not worn.
    const sent = outcome.blocksWritten.flatMap((b) => b.changes);
    expect(changed.every((cell) => sent.includes(cell))).toBe(true);
    expect(sent.length).toBe(outcome.tried);
  });

  it('when the chip keeps to its row then nothing is late', async () => {
    const on = await seated();
    expect(await burned(on, imageWith(1024, { 5: 1 }))).toMatchObject({ late: false, tried: 1 });
  });
});
