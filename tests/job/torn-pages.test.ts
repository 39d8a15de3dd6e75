import { describe, expect, it } from 'vitest';
import { planBurn } from '../../src/job/burn-plan.js';
import { changedNeighbours, neededMending, wantedBlocks } from '../../src/job/torn-pages.js';
import { isAsked } from '../../src/job/wanted-cells.js';
import { everyCell, imageOf, imageWith, pagePart, seated, withChangedPages } from './seated.js';

const range = everyCell(pagePart);

describe('what a written page must hold in the end', () => {
  it('when the image says something then that, else what was there', async () => {
    const on = await seated();
    const image = imageWith(1024, { 70: 1, 200: 2, 201: 3 });
    const plan = await planBurn(on.writer, pagePart, image, { range, keep: true });
    const wanted = on.before.slice();
    for (const [cell, byte] of [
      [70, 1],
      [200, 2],
      [201, 3],
    ] as const)
      wanted[cell] = byte;
    expect(wantedBlocks(pagePart, image, plan, range)).toEqual([
      { from: 64, bytes: wanted.slice(64, 128) },
      { from: 192, bytes: wanted.slice(192, 256) },
    ]);
  });

  it('when pages side by side were read at once then each gets its own bytes', async () => {
    const on = await seated();
    const image = imageWith(1024, { 70: on.before[70]! ^ 1, 130: on.before[130]! ^ 1 });
    const plan = await planBurn(on.writer, pagePart, image, { range, keep: true });
    expect(plan.old).toHaveLength(1);
    const blocks = wantedBlocks(pagePart, image, plan, range);
    expect(blocks.map((b) => b.from)).toEqual([64, 128]);
    expect(blocks.map((b) => b.bytes.length)).toEqual([64, 64]);
    expect(blocks[1]!.bytes.subarray(3)).toEqual(on.before.subarray(131, 192));
  });

  it('when cells lie outside the range then they are to stay, whatever the image says', async () => {
    const on = await seated();
    const image = imageOf(withChangedPages(on.before, 1));
    const plan = await planBurn(on.writer, pagePart, image, { range: { from: 70, to: 80 }, keep: true });
    const wanted = on.before.slice();
    wanted.set(image.bytes.subarray(70, 81), 70);
    expect(wantedBlocks(pagePart, image, plan, { from: 70, to: 80 })[0]!.bytes).toEqual(wanted.slice(64, 128));
  });

  it('when nobody looked before then the image alone says it', async () => {
    const on = await seated();
    const image = imageOf(withChangedPages(on.before, 3, 9));
    const plan = await planBurn(on.writer, pagePart, image, { range, keep: false });
    expect(wantedBlocks(pagePart, image, plan, range)).toEqual([
      { from: 192, bytes: image.bytes.slice(192, 256) },
      { from: 576, bytes: image.bytes.slice(576, 640) },
    ]);
  });
});

describe('mending', () => {
  it('when pages hold what they should then nothing is written', async () => {
    const on = await seated();
    expect(await neededMending(on.writer, [{ from: 64, bytes: on.before.slice(64, 128) }])).toEqual([]);
  });

  it('when cells of a page differ then it is loaded from the first to the last of them', async () => {
    const on = await seated();
    const blocks = [0, 64, 128].map((from) => ({ from, bytes: on.before.slice(from, from + 64) }));
    for (const cell of [66, 70, 191]) on.chip.cells[cell]! ^= 0xff;
    expect(await neededMending(on.writer, blocks)).toEqual([
      { address: 66, bytes: on.before.slice(66, 71), changes: [66, 70] },
      { address: 191, bytes: on.before.slice(191, 192), changes: [191] },
    ]);
  });

  it('when it is interrupted then it stops', async () => {
    const on = await seated();
    const blocks = [{ from: 0, bytes: on.before.slice(0, 64) }];
    await expect(neededMending(on.writer, blocks, AbortSignal.abort())).rejects.toMatchObject({
      code: 'writer.stopped',
    });
  });
});

describe('neighbours in a written page', () => {
  const image = imageWith(128, { 5: 1, 6: 2 });
  const all = { from: 0, to: 127 };
  const block = { from: 0, bytes: new Uint8Array(64) };

  it('when cells that nobody asked about changed then they are named, side by side as one range', () => {
    const readback = imageOf(new Uint8Array(128));
    for (const cell of [5, 7, 8, 20]) readback.bytes[cell] = 9;
    expect(changedNeighbours([block], image, all, readback)).toEqual([
      { from: 7, to: 8 },
      { from: 20, to: 20 },
    ]);
  });

  it('when a cell was asked for but lies outside the range then it is a neighbour', () => {
    const readback = imageOf(new Uint8Array(128));
    readback.bytes[5] = readback.bytes[6] = 9;
    expect(changedNeighbours([block], image, { from: 6, to: 127 }, readback)).toEqual([{ from: 5, to: 5 }]);
    expect(changedNeighbours([block], image, { from: 0, to: 5 }, readback)).toEqual([{ from: 6, to: 6 }]);
  });

  it('when a cell was not read then nothing is said of it', () => {
    const readback = imageWith(128, { 30: 9 });
    readback.bytes.fill(9);
    expect(changedNeighbours([block], image, all, readback)).toEqual([{ from: 30, to: 30 }]);
  });

  it('when a cell is the first or the last of the range then it is asked for, if the image says something', () => {
    const asked = [4, 5, 6, 7].map((cell) => isAsked(image, { from: 5, to: 6 }, cell));
    expect(asked).toEqual([false, true, true, false]);
  });
});
