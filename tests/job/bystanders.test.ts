import { describe, expect, it } from 'vitest';
import { watchBystanders } from '../../src/job/bystanders.js';
import { cellPart, everyCell, imageWith, pagePart, seated } from './seated.js';

/** A write of one cell, as a burn plan has it, and the image that asked for it. */
const oneCell = (address: number) => ({
  image: imageWith(1024, { [address]: 1 }),
  writes: [{ address, bytes: Uint8Array.of(1) }],
});

async function watched(
  options: Parameters<typeof seated>[0],
  change: (cells: Uint8Array) => void,
  { address = 3 * 64 + 5, all = false, range = everyCell(pagePart) } = {},
) {
  const on = await seated(options);
  const { image, writes } = oneCell(address);
  const bystanders = await watchBystanders(on.writer, pagePart, image, writes, { range, all });
  change(on.chip.cells);
  return { on, beside: await bystanders.changed() };
}

describe('bystanders of a write', () => {
  it('when nothing changes beside the written page then nobody is hit', async () => {
    const { beside } = await watched({}, (cells) => cells.fill(0, 3 * 64, 4 * 64));
    expect(beside).toEqual([]);
  });

  it('when nothing is to be written then nothing is asked', async () => {
    const on = await seated();
    const terms = { range: everyCell(pagePart), all: true };
    const bystanders = await watchBystanders(on.writer, pagePart, imageWith(1024, { 1: 1 }), [], terms);
    expect(await bystanders.changed()).toEqual([]);
    expect(on.asked).toEqual([]);
  });

  it('when one line makes no difference then the page that it tells apart is hit, and the line named', async () => {
    for (const line of [6, 7, 8, 9]) {
      const hit = (3 * 64) ^ (1 << line);
      const { beside } = await watched({}, (cells) => {
        cells[hit + 63]! ^= 1;
      });
      expect(beside).toEqual([{ from: hit, to: hit + 63, lines: [line] }]);
    }
  });

  it('when the chip is a quarter as large as said then all repetitions are hit, also those that two lines tell apart', async () => {
    const { beside } = await watched({ chip: { cells: 256 } }, (cells) => {
      cells[3 * 64 + 5]! ^= 1;
    });
    expect(beside).toEqual([7, 11, 15].map((page) => ({ from: page * 64, to: page * 64 + 63, lines: [8, 9] })));
  });

  it('when two pages are written and only one of them shows elsewhere then the line is named all the same', async () => {
    const on = await seated();
    const writes = [0, 3].map((page) => ({ address: page * 64, bytes: Uint8Array.of(1) }));
    const image = imageWith(1024, { 0: 1, 192: 1 });
    const watch = { range: everyCell(pagePart), all: false };
    const bystanders = await watchBystanders(on.writer, pagePart, image, writes, watch);
    on.chip.cells[11 * 64]! ^= 1;
    expect(await bystanders.changed()).toEqual([{ from: 11 * 64, to: 11 * 64 + 63, lines: [9] }]);
  });

  it('when two pages with different bytes are written in a chip a quarter as large then the repetitions of both are hit', async () => {
    const on = await seated({ chip: { cells: 256 } });
    const writes = [1, 2].map((page) => ({ address: page * 64, bytes: Uint8Array.of(1) }));
    const watch = { range: everyCell(pagePart), all: false };
    const bystanders = await watchBystanders(on.writer, pagePart, imageWith(1024, { 64: 1, 128: 1 }), writes, watch);
    for (const page of [1, 2]) on.chip.cells[page * 64]! ^= 1;
    expect(await bystanders.changed()).toEqual(
      [5, 9, 13].map((page) => ({ from: page * 64, to: page * 64 + 127, lines: [8, 9] })),
    );
  });

  it('when a page behind two such lines holds something else then it is no repetition and is not named', async () => {
    const { beside } = await watched({}, (cells) => {
      for (const page of [7, 11]) cells[page * 64]! ^= 1;
    });
    expect(beside).toEqual([7, 11].map((page) => ({ from: page * 64, to: page * 64 + 63, lines: [8, 9] })));
  });

  it('when the image says something in a repetition then that page is compared anyway and not named', async () => {
    const on = await seated({ chip: { cells: 256 } });
    const image = imageWith(1024, { [3 * 64]: 1, [15 * 64]: 1 });
    const writes = [{ address: 3 * 64, bytes: Uint8Array.of(1) }];
    const watch = { range: everyCell(pagePart), all: false };
    const bystanders = await watchBystanders(on.writer, pagePart, image, writes, watch);
    on.chip.cells[3 * 64]! ^= 1;
    expect((await bystanders.changed()).map((b) => b.from)).toEqual([7 * 64, 11 * 64]);
  });

  it('when hit pages are neighbours then they are one stretch', async () => {
    const { beside } = await watched({}, (cells) => {
      for (const page of [2, 1]) cells[page * 64]! ^= 1;
    });
    expect(beside).toEqual([{ from: 64, to: 191, lines: [6, 7] }]);
  });

  it('when the image says something in a page then it is not a bystander, it is compared anyway', async () => {
    const on = await seated();
    const image = imageWith(1024, { 5: 1, 64: 2 });
    const writes = [{ address: 5, bytes: Uint8Array.of(1) }];
    const watch = { range: everyCell(pagePart), all: false };
    const bystanders = await watchBystanders(on.writer, pagePart, image, writes, watch);
    on.chip.cells[64]! ^= 1;
    on.chip.cells[128]! ^= 1;
    expect(await bystanders.changed()).toEqual([{ from: 128, to: 191, lines: [7] }]);
  });

  it('when the image says something there but the range leaves it out then it is a bystander', async () => {
    const on = await seated();
    const image = imageWith(1024, { 5: 1, 64: 2 });
    const writes = [{ address: 5, bytes: Uint8Array.of(1) }];
    const watch = { range: { from: 0, to: 63 }, all: false };
    const bystanders = await watchBystanders(on.writer, pagePart, image, writes, watch);
    on.chip.cells[64]! ^= 1;
    expect(await bystanders.changed()).toEqual([{ from: 64, to: 127, lines: [6] }]);
  });

  it('when only near pages are watched then one further away is not seen, and when all are then it is', async () => {
    const far = (3 * 64) ^ 0x1c0;
    const change = (cells: Uint8Array): void => {
      cells[far]! ^= 1;
    };
    expect((await watched({}, change)).beside).toEqual([]);
    expect((await watched({}, change, { all: true })).beside).toEqual([{ from: far, to: far + 63, lines: [] }]);
  });

  it('when it looks before the write then each near page is asked once, neighbours together', async () => {
    const on = await seated();
    const { image, writes } = oneCell(3 * 64);
    await watchBystanders(on.writer, pagePart, image, writes, { range: everyCell(pagePart), all: false });
    expect(on.asked).toEqual(['sums 64 128', 'sums 448 64', 'sums 704 64']);
  });

  it('when a chip has no pages then blocks of 64 cells stand by', async () => {
    const on = await seated({ part: cellPart, chip: { cells: 256 } });
    const image = imageWith(512, { 5: 1 });
    const writes = [{ address: 5, bytes: Uint8Array.of(1) }];
    const watch = { range: everyCell(cellPart), all: false };
    const bystanders = await watchBystanders(on.writer, cellPart, image, writes, watch);
    on.chip.cells[5]! ^= 1;
    expect(await bystanders.changed()).toEqual([{ from: 256, to: 319, lines: [8] }]);
  });

  it('when it is interrupted while it looks then it stops', async () => {
    const on = await seated();
    const { image, writes } = oneCell(3);
    const watch = { range: everyCell(pagePart), all: false, signal: AbortSignal.abort() };
    await expect(watchBystanders(on.writer, pagePart, image, writes, watch)).rejects.toMatchObject({
      code: 'writer.stopped',
    });
  });
});
