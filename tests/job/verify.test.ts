import { describe, expect, it } from 'vitest';
import { blankCheck, dump, verify } from '../../src/job/verify.js';
import { everyCell, imageOf, imageWith, pagePart, seated, withChanged } from './seated.js';

const range = everyCell(pagePart);

describe('verifying', () => {
  it('when the chip holds the image then it is the same, and every byte came over the link', async () => {
    const on = await seated();
    const { same, difference, readback } = await verify(on.writer, pagePart, imageOf(on.before), { range });
    expect([same, difference.compared]).toEqual([true, 1024]);
    expect(readback.bytes).toEqual(on.before);
    expect(on.asked).toEqual(['read 0 1024']);
  });

  it('when one byte differs then it is not the same, wherever it is', async () => {
    const on = await seated();
    for (const cell of [0, 63, 64, 511, 1023]) {
      const found = await verify(on.writer, pagePart, imageOf(withChanged(on.before, cell)), { range });
      expect(found).toMatchObject({ same: false, difference: { bytes: 1, runs: [{ from: cell, to: cell }] } });
    }
  });

  it('when the image says something here and there then only these pages are read and the rest is not claimed', async () => {
    const on = await seated();
    const image = imageWith(1024, { 70: on.before[70]!, 600: on.before[600]! });
    const { same, difference, readback } = await verify(on.writer, pagePart, image, { range });
    expect([same, difference.compared, difference.undefinedCells]).toEqual([true, 2, 1022]);
    expect(on.asked).toEqual(['read 64 64', 'read 576 64']);
    const read = [...readback.defined.keys()].filter((cell) => readback.defined[cell] === 1);
    expect(read).toHaveLength(128);
    expect(read.every((cell) => readback.bytes[cell] === on.before[cell])).toBe(true);
  });

  it('when a range is given then differences outside it do not count', async () => {
    const on = await seated();
    const image = imageOf(withChanged(on.before, 99, 201));
    expect((await verify(on.writer, pagePart, image, { range: { from: 100, to: 200 } })).same).toBe(true);
    expect((await verify(on.writer, pagePart, image, { range: { from: 99, to: 201 } })).difference.bytes).toBe(2);
  });

  it('when it reads in several stretches then progress counts through to the end', async () => {
    const on = await seated();
    const seen: [number, number][] = [];
    await verify(on.writer, pagePart, imageWith(1024, { 70: 1, 600: 2 }), {
      range,
      onRead: (...counts) => seen.push(counts),
    });
    expect(seen.map(([done]) => done)).toEqual(seen.map(([done]) => done).sort((a, b) => a - b));
    expect(seen.at(-1)).toEqual([128, 128]);
  });

  it('when it is interrupted then it stops and claims nothing', async () => {
    const on = await seated();
    await expect(
      verify(on.writer, pagePart, imageOf(on.before), { range, signal: AbortSignal.abort() }),
    ).rejects.toMatchObject({ code: 'writer.stopped' });
  });
});

describe('the blank check', () => {
  it('when every cell reads FF then the chip is blank, and one cell that does not is found', async () => {
    const on = await seated({ chip: { contents: 0xff } });
    expect((await blankCheck(on.writer, pagePart, { range })).same).toBe(true);
    on.chip.cells[1023] = 0xfe;
    expect(await blankCheck(on.writer, pagePart, { range })).toMatchObject({
      same: false,
      difference: { bytes: 1, runs: [{ from: 1023, wanted: 'FF', actual: 'FE' }] },
    });
    expect((await blankCheck(on.writer, pagePart, { range: { from: 0, to: 1022 } })).same).toBe(true);
  });
});

describe('the dump', () => {
  it('when a range is read then it alone is defined', async () => {
    const on = await seated();
    const { image, unsteady } = await dump(on.writer, pagePart, { range: { from: 5, to: 9 }, passes: 1 });
    expect(on.asked).toEqual(['read 5 5']);
    expect(image.bytes.subarray(5, 10)).toEqual(on.before.subarray(5, 10));
    expect([...image.defined.keys()].filter((cell) => image.defined[cell] === 1)).toEqual([5, 6, 7, 8, 9]);
    expect([image.bytes.length, image.defined.length]).toEqual([1024, 1024]);
    expect(unsteady).toEqual([]);
  });

  it('when a cell reads now so, now so then it is told with all values seen', async () => {
    const on = await seated({ chip: { faults: [{ kind: 'unsteady-cell', address: 300, bit: 6 }] } });
    const { unsteady } = await dump(on.writer, pagePart, { range: { from: 290, to: 310 }, passes: 12 });
    const seen = [on.before[300]!, on.before[300]! ^ 0x40];
    expect(unsteady).toEqual([{ address: 300, seen: expect.arrayContaining(seen) }]);
    expect(unsteady[0]!.seen).toHaveLength(2);
  });

  it('when it reads several times then progress goes through all of them', async () => {
    const on = await seated();
    const seen: [number, number][] = [];
    await dump(on.writer, pagePart, { range, passes: 3, onRead: (...counts) => seen.push(counts) });
    expect(on.asked).toEqual(['read 0 1024', 'read 0 1024', 'read 0 1024']);
    expect(seen.map(([done]) => done)).toEqual(seen.map(([done]) => done).sort((a, b) => a - b));
    expect(seen.at(-1)).toEqual([3072, 3072]);
  });

  it('when it is interrupted then it stops', async () => {
    const on = await seated();
    const terms = { range, passes: 2, signal: AbortSignal.abort() };
    await expect(dump(on.writer, pagePart, terms)).rejects.toMatchObject({ code: 'writer.stopped' });
  });
});
