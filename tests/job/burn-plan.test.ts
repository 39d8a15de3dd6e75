import { describe, expect, it } from 'vitest';
import type { Image } from '../../src/image/image.js';
import { type BurnPlanOptions, planBurn, writingMs } from '../../src/job/burn-plan.js';
import {
  cellPart,
  everyCell,
  imageOf,
  imageWith,
  pagePart,
  type Seated,
  seated,
  withChanged,
  withChangedPages,
} from './seated.js';

const plan = (on: Seated, image: Image, more: Partial<BurnPlanOptions> = {}) =>
  planBurn(on.writer, pagePart, image, { range: everyCell(pagePart), keep: true, ...more });

describe('a writer whose limits are small', () => {
  it.each([
    [{ store: 32 }, pagePart, 'store 32; to burn this part it must be at least 64'],
    [{ line: 80 }, pagePart, 'line 80; to burn this part it must be at least 110'],
    [{ cells: 16 }, cellPart, 'cells 16; to burn this part it must be at least 64'],
  ] as const)(
    'when %o cannot carry a block then that is said before anything is read or written',
    async (limits, part, text) => {
      const on = await seated({ part, limits });
      const planning = planBurn(on.writer, part, imageOf(on.before), { range: everyCell(part), keep: true });
      await expect(planning).rejects.toMatchObject({ code: 'writer.limit', message: expect.stringContaining(text) });
      expect(on.asked).toEqual([]);
      expect(on.mock.counts().cycles).toBe(0);
    },
  );

  it('when there is one slot and no echo then the burn is planned, and the rate is chosen, as ever', async () => {
    const on = await seated({ limits: { slots: 1, echo: 0 } });
    expect(await on.writer.chooseRate([500_000])).toBe(500_000);
    expect((await plan(on, imageOf(on.before))).total).toBe(16);
  });
});

describe('planning a burn', () => {
  it('when the chip holds the image already then nothing is to be written, and sums alone told so', async () => {
    const on = await seated();
    expect(await plan(on, imageOf(on.before))).toEqual({ total: 16, writes: [], old: [], seen: [], cells: 0 });
    expect(on.asked).toEqual(['sums 0 1024']);
  });

  it('when one cell differs then that cell is written, and its page as it is now is to be kept', async () => {
    const on = await seated();
    const wanted = withChanged(on.before, 200);
    expect(await plan(on, imageOf(wanted))).toEqual({
      total: 16,
      writes: [{ address: 200, bytes: wanted.slice(200, 201), changes: [200] }],
      old: [{ from: 192, bytes: on.before.slice(192, 256) }],
      seen: [{ from: 192, bytes: on.before.slice(192, 256) }],
      cells: 1,
    });
    expect(on.asked).toEqual(['sums 0 1024', 'read 192 64']);
  });

  it('when two cells of a page differ then what lies between is loaded as it is', async () => {
    const on = await seated();
    const wanted = { 70: on.before[70]! ^ 1, 73: on.before[73]!, 75: on.before[75]! ^ 1 };
    const { writes, cells } = await plan(on, imageWith(1024, wanted));
    const loaded = on.before.slice(70, 76);
    loaded[0]! ^= 1;
    loaded[5]! ^= 1;
    expect(writes).toEqual([{ address: 70, bytes: loaded, changes: [70, 75] }]);
    expect(cells).toBe(2);
  });

  it('when a block with holes holds what it should then it is read and neither written nor kept', async () => {
    const on = await seated();
    const image = imageWith(1024, { 70: on.before[70]!, 300: on.before[300]! ^ 2 });
    const made = await plan(on, image);
    expect(on.asked).toEqual(['read 64 64', 'read 256 64']);
    expect(made.total).toBe(2);
    expect(made.writes.map((w) => w.address)).toEqual([300]);
    expect(made.old.map((r) => r.from)).toEqual([256]);
  });

  it('when neighbouring pages differ then one request reads them, and a page apart another', async () => {
    const on = await seated();
    const made = await plan(on, imageOf(withChangedPages(on.before, 2, 3, 4, 9)));
    expect(on.asked).toEqual(['sums 0 1024', 'read 128 192', 'read 576 64']);
    expect(made.old).toEqual([
      { from: 128, bytes: on.before.slice(128, 320) },
      { from: 576, bytes: on.before.slice(576, 640) },
    ]);
    expect(made.cells).toBe(4 * 64);
  });

  it('when only some pages of a stretch change then only these are kept', async () => {
    const on = await seated();
    const image = imageWith(1024, { 70: on.before[70]!, 130: on.before[130]! ^ 4, 200: on.before[200]! });
    const made = await plan(on, image);
    expect(on.asked).toEqual(['read 64 192']);
    expect(made.old).toEqual([{ from: 128, bytes: on.before.slice(128, 192) }]);
  });

  it('when a range is given then no cell outside it is written, nor is a sum taken over it', async () => {
    const on = await seated();
    const made = await plan(on, imageOf(withChangedPages(on.before, 1, 2, 3)), { range: { from: 100, to: 200 } });
    expect(made.writes.map((w) => [w.address, w.address + w.bytes.length - 1])).toEqual([
      [100, 127],
      [128, 191],
      [192, 200],
    ]);
    expect(made.cells).toBe(101);
    expect(on.asked).toEqual(['sums 128 64', 'read 64 192']);
  });

  it('when nothing is to be kept then whole pages are not read, and are written whole; pages with holes are read', async () => {
    const on = await seated();
    const wanted = withChangedPages(on.before, 5);
    wanted[5 * 64 + 3] = on.before[5 * 64 + 3]!;
    const whole = await plan(on, imageOf(wanted), { keep: false });
    expect(on.asked).toEqual(['sums 0 1024']);
    expect(whole.writes).toEqual([
      { address: 320, bytes: wanted.slice(320, 384), changes: Array.from({ length: 64 }, (_, i) => 320 + i) },
    ]);
    expect(whole.old).toEqual([]);
    const holes = await plan(on, imageWith(1024, { 70: on.before[70]! ^ 1 }), { keep: false });
    expect(holes.writes).toMatchObject([{ address: 70, changes: [70] }]);
  });

  it('when a code could go anywhere then the whole chip is read and kept, but only if something is written', async () => {
    const on = await seated();
    const made = await plan(on, imageOf(withChanged(on.before, 500)), { everything: true });
    expect(made.old).toEqual([{ from: 0, bytes: on.before }]);
    expect(made.writes).toMatchObject([{ address: 500, changes: [500] }]);
    expect(on.asked).toEqual(['sums 0 1024', 'read 0 1024']);
    on.asked.length = 0;
    expect((await plan(on, imageOf(on.before), { everything: true })).old).toEqual([]);
    expect(on.asked).toEqual(['sums 0 1024']);
    // Read because of its holes, and right.
    const right = await plan(on, imageWith(1024, { 70: on.before[70]! }), { everything: true });
    expect(right).toMatchObject({ writes: [], old: [] });
  });

  it('when it reads then progress counts up to all cells that are read', async () => {
    const on = await seated();
    const seen: number[] = [];
    const totals = new Set<number>();
    await plan(on, imageOf(withChangedPages(on.before, 1, 9)), {
      onRead: (done, total) => {
        seen.push(done);
        totals.add(total);
      },
    });
    expect([...totals]).toEqual([128]);
    expect(seen).toEqual([...seen].sort((a, b) => a - b));
    expect(seen).toContain(64);
    expect(seen.at(-1)).toBe(128);
  });

  it.each(['sums', 'read'] as const)(
    'when it is interrupted while it asks for %s then it stops there',
    async (word) => {
      const on = await seated();
      const interrupt = new AbortController();
      const ask = on.writer[word] as (...args: unknown[]) => Promise<never>;
      on.writer[word] = ((...args: unknown[]) => {
        interrupt.abort();
        return ask(...args);
      }) as never;
      await expect(
        plan(on, imageOf(withChangedPages(on.before, 1)), { signal: interrupt.signal }),
      ).rejects.toMatchObject({ code: 'writer.stopped' });
    },
  );

  it('when a burn is planned then the chip is not touched, and the old runs put back undo it', async () => {
    const on = await seated();
    const made = await plan(on, imageOf(withChanged(on.before, 0, 1, 63, 64, 500, 1023)));
    expect(on.mock.counts().cycles).toBe(0);
    const cells = on.before.slice();
    for (const { address, bytes } of made.writes) cells.set(bytes, address);
    expect(cells).toEqual(withChanged(on.before, 0, 1, 63, 64, 500, 1023));
    for (const { from, bytes } of made.old) cells.set(bytes, from);
    expect(cells).toEqual(on.before);
  });

  it('when the time is told then it is one longest cycle a page, or one a cell without pages', async () => {
    const made = await plan(await seated(), imageOf(new Uint8Array(1024)));
    expect(writingMs(pagePart, made)).toBe((16 * pagePart.cycleMaxUs.value) / 1000);
    expect(writingMs(cellPart, { ...made, cells: 7 })).toBe((7 * cellPart.cycleMaxUs.value) / 1000);
  });
});
