import { describe, expect, it } from 'vitest';
import { pause } from '../../src/ground/clock.js';
import { ToolError } from '../../src/ground/errors.js';
import { seededRandom } from '../../src/ground/random.js';
import { openWriter, type WriteBlock } from '../../src/writer/writer.js';
import { drawMishaps, type Mishap } from '../mock/mishap.js';
import { mockWriter } from '../mock/mock-writer.js';
import { cellChip, cellChoice, onMock, pageChip, pageChoice } from './against-mock.js';

const image = seededRandom(11).bytes(4096);
const blocksOf = (bytes: Uint8Array, size = 64): WriteBlock[] =>
  Array.from({ length: bytes.length / size }, (_, i) => ({
    address: i * size,
    bytes: bytes.slice(i * size, (i + 1) * size),
  }));
const link = { baud: 115200, lineMax: 4096 };

describe('finding the writer', () => {
  it('when the board does not restart then it is found by asking', async () => {
    const { mock } = await onMock({ resetsOnOpen: false });
    expect(mock.clock.now()).toBeGreaterThanOrEqual(400);
    expect(mock.clock.now()).toBeLessThan(500);
  });

  it('when the board restarts then its greeting is enough', async () => {
    const { mock } = await onMock({}, null);
    expect(mock.clock.now()).toBeLessThan(60);
    expect(mock.counts().lines).toBe(0);
  });

  it('when nothing answers then it is silent, after 6 s', async () => {
    const mock = mockWriter({ chip: pageChip, mishaps: [{ kind: 'lost', way: 'to-host', at: 0, count: 1e9 }] });
    await expect(openWriter(await mock.open('mock', link))).rejects.toMatchObject({ code: 'writer.silent', exit: 3 });
    expect(mock.clock.now()).toBeGreaterThanOrEqual(6000);
    expect(mock.clock.now()).toBeLessThan(6500);
  });

  it('when the host runs at another rate then it is noise', async () => {
    const mock = mockWriter({ chip: pageChip });
    const port = await mock.open('mock', link);
    await port.setRate(57600);
    await expect(openWriter(port)).rejects.toMatchObject({
      code: 'writer.noise',
      exit: 3,
      message: expect.stringContaining('Wrong rate?'),
    });
    await expect(port.send('x\n')).rejects.toMatchObject({ code: 'link.gone' });
  });

  it('when noise comes before the greeting then it is passed over', async () => {
    const bytes = [...seededRandom(3).bytes(200)];
    await onMock({ mishaps: [{ kind: 'noise', way: 'to-host', at: 0, bytes }] });
  });

  it('when it speaks another version then that is said, with its build', async () => {
    await expect(onMock({ limits: { version: 3, build: 'someday-3' } })).rejects.toMatchObject({
      code: 'writer.newer',
      exit: 3,
      facts: { version: 3, wanted: 2, build: 'someday-3' },
    });
  });

  it('when it was left at another rate then it is found after it came back to 115200', async () => {
    const { mock, writer } = await onMock({ resetsOnOpen: false });
    await writer.setRate(500_000);
    mock.unplug();
    const again = await openWriter(await mock.open('mock', link));
    expect(again.baud).toBe(115200);
  });

  it('when it still streams for a host that went away then it is stopped', async () => {
    const { mock, writer } = await onMock({ resetsOnOpen: false });
    const read = writer.read(0, 4096, () => mock.unplug());
    await expect(read).rejects.toMatchObject({ code: 'link.gone' });
    const again = await openWriter(await mock.open('mock', link));
    await again.chip(pageChoice);
    expect(await again.presence(0)).toBe(0);
  });
});

describe('the rate', () => {
  it('when the fastest works then it is taken and remembered; the remembered one is tried first', async () => {
    const { writer, mock } = await onMock();
    const remembered: number[] = [];
    const memory = { recall: () => 500_000, remember: (baud: number) => void remembered.push(baud) };
    expect(await writer.chooseRate([1_000_000, 500_000], memory)).toBe(500_000);
    expect(await writer.chooseRate([1_000_000, 500_000])).toBe(1_000_000);
    expect(remembered).toEqual([500_000]);
    expect(mock.firmware.baud).toBe(1_000_000);
  });

  it('when a rate fails its trial then the next is tried, and both ends agree', async () => {
    const { writer, mock } = await onMock();
    const at = mock.counts().toHost + 300;
    mock.setMishaps([{ kind: 'flipped', way: 'to-host', at, bit: 2 }]);
    expect(await writer.chooseRate()).toBe(500_000);
    expect(await writer.echo(Uint8Array.of(1))).toEqual(Uint8Array.of(1));
    expect(mock.firmware.baud).toBe(500_000);
  });

  it('when the answer to rate is lost then both ends find each other again', async () => {
    const { writer, mock } = await onMock();
    mock.setMishaps([{ kind: 'lost', way: 'to-host', at: mock.counts().toHost, count: 5 }]);
    expect(await writer.chooseRate([1_000_000])).toBe(115200);
    mock.setMishaps([]);
    expect(await writer.chooseRate([1_000_000])).toBe(1_000_000);
  });

  it('when the writer does not offer a rate then setRate says which it has', async () => {
    const { writer } = await onMock();
    await expect(writer.setRate(57600)).rejects.toMatchObject({ code: 'writer.rate', exit: 3 });
    expect(await writer.echo(Uint8Array.of(1))).toEqual(Uint8Array.of(1));
  });
});

describe('restarts', () => {
  it('when the writer restarts in the middle of a burn then the chip is chosen again and every block is written', async () => {
    for (const baud of [115200, 1_000_000]) {
      const { writer, mock, events } = await onMock();
      await writer.setRate(baud);
      mock.setMishaps([{ kind: 'resets', line: mock.counts().lines + 30 }]);
      const outcomes = await writer.writeBlocks(blocksOf(image));
      expect(outcomes.every((o) => o.kind === 'written')).toBe(true);
      expect(mock.chip.cells).toEqual(image);
      expect(events).toEqual([{ kind: 'restarted', restarts: 1 }]);
      expect(writer.baud).toBe(baud);
      // Blocks that were done before are not written again.
      expect(mock.counts().cycles).toBeLessThan(64 + 17);
    }
  });

  it('when it loses its supply in the middle of a write cycle then the torn page is written again', async () => {
    const { writer, mock } = await onMock({ mishaps: [{ kind: 'browns-out', cycle: 20 }] });
    await writer.writeBlocks(blocksOf(image));
    expect(mock.chip.cells).toEqual(image);
  });

  it('when it restarts while it is read then the read is begun again', async () => {
    const { writer, mock } = await onMock({ chip: { ...pageChip, contents: image } });
    let once = false;
    const bytes = await writer.read(0, 4096, (done) => {
      if (done < 2000 || once) return;
      once = true;
      mock.reset();
    });
    expect(bytes).toEqual(image);
    expect(writer.counts.restarts).toBe(1);
  });

  it('when it restarts between two requests and the greeting is lost then it is noticed all the same', async () => {
    const { writer, mock } = await onMock();
    mock.setMishaps([{ kind: 'lost', way: 'to-host', at: mock.counts().toHost, count: 60 }]);
    mock.reset();
    expect(await writer.presence(0)).toBe(0);
    expect(writer.counts.restarts).toBe(1);
  });

  it('when it restarts again and again then the job ends', async () => {
    const { writer, mock } = await onMock();
    const lines = mock.counts().lines;
    mock.setMishaps(Array.from({ length: 40 }, (_, i) => ({ kind: 'resets', line: lines + 10 + 12 * i }) as const));
    await expect(writer.writeBlocks(blocksOf(image))).rejects.toMatchObject({
      code: 'writer.restarted-too-often',
      exit: 3,
    });
  });

  it('when it hangs then it is lost, in bounded time', async () => {
    const { writer, mock } = await onMock();
    mock.setMishaps([{ kind: 'hangs', line: mock.counts().lines + 20 }]);
    const begin = mock.clock.now();
    await expect(writer.writeBlocks(blocksOf(image))).rejects.toMatchObject({ code: 'writer.lost', exit: 3 });
    expect(mock.clock.now() - begin).toBeLessThan(15_000);
  });

  it('when the cable is pulled then link.gone comes at once, and closing still works', async () => {
    const { writer, mock } = await onMock();
    mock.setMishaps([{ kind: 'unplugged', way: 'to-writer', at: mock.counts().toWriter + 2000 }]);
    await expect(writer.writeBlocks(blocksOf(image))).rejects.toMatchObject({ code: 'link.gone', exit: 3 });
    await writer.close();
  });
});

describe('a line that damages', () => {
  const swept = (way: 'to-writer' | 'to-host', kind: 'lost' | 'flipped' | 'doubled', at: number): Mishap =>
    kind === 'lost'
      ? { kind, way, at, count: 1 }
      : kind === 'flipped'
        ? { kind, way, at, bit: at % 8 }
        : { kind, way, at };

  it.each(['to-writer', 'to-host'] as const)(
    'when any one byte %s is lost, flipped or doubled then all blocks are written once',
    async (way) => {
      const few = image.slice(0, 320);
      for (const kind of ['lost', 'flipped', 'doubled'] as const)
        for (let byte = 0; byte < (way === 'to-host' ? 40 : 520); byte += way === 'to-host' ? 1 : 7) {
          const { writer, mock } = await onMock();
          const { toWriter, toHost } = mock.counts();
          mock.setMishaps([swept(way, kind, (way === 'to-writer' ? toWriter : toHost) + byte)]);
          const outcomes = await writer.writeBlocks(blocksOf(few));
          expect(outcomes.every((o) => o.kind === 'written')).toBe(true);
          expect(mock.chip.cells.subarray(0, 320)).toEqual(few);
          expect(mock.counts().cycles).toBe(5);
        }
    },
  );

  it('when lines of a read are damaged then only those are read again', async () => {
    const { writer, mock } = await onMock({ chip: { ...pageChip, contents: image } });
    const begin = mock.counts().toHost;
    mock.setMishaps([500, 3000].map((byte) => ({ kind: 'flipped', way: 'to-host', at: begin + byte, bit: 3 })));
    expect(await writer.read(0, 4096)).toEqual(image);
    // Once the whole in base64, and little more than two lines of 192 bytes.
    expect(mock.counts().toHost - begin).toBeLessThan((4096 * 4) / 3 + 23 * 20 + 3 * 300);
  });

  it('when everything is damaged now and then then reads, sums and burns end right', async () => {
    for (let seed = 1; seed <= 25; seed++) {
      const { writer, mock } = await onMock({ seed, answerDelayMs: [0, 16] });
      const { lines, ...bytes } = mock.counts();
      const size = {
        bytesToWriter: bytes.toWriter + 8000,
        bytesToHost: bytes.toHost + 8000,
        lines: lines + 80,
        cycles: 64,
      };
      const kinds = ['lost', 'flipped', 'doubled', 'late', 'noise', 'repeated', 'slow'] as const;
      mock.setMishaps(drawMishaps(seededRandom(seed), 40, size, kinds));
      const outcomes = await writer.writeBlocks(blocksOf(image));
      expect(outcomes.every((o) => o.kind === 'written')).toBe(true);
      expect(mock.chip.cells).toEqual(image);
      expect(await writer.read(0, 4096)).toEqual(image);
      expect((await writer.sums(0, 4096, 64)).length).toBe(64);
    }
  });

  it('when anything at all goes wrong then it ends, with an error that is ours, and once lifted the same job succeeds', async () => {
    for (let seed = 1; seed <= 25; seed++) {
      const cells = seed % 3 === 0;
      const mock = mockWriter({ seed, chip: cells ? cellChip : pageChip });
      const size = { bytesToWriter: 6000, bytesToHost: 2000, lines: 60, cycles: 60 };
      mock.setMishaps(drawMishaps(seededRandom(100 + seed), 12, size));
      const wanted = image.subarray(0, mock.chip.cells.length);
      const burn = async () => {
        const writer = await openWriter(await mock.open('mock', link));
        try {
          await writer.chip(cells ? cellChoice : pageChoice);
          return await writer.writeBlocks(blocksOf(wanted));
        } finally {
          await writer.close();
        }
      };
      try {
        const outcomes = await burn();
        if (outcomes.every((o) => o.kind === 'written')) expect(mock.chip.cells).toEqual(wanted);
      } catch (error) {
        expect(error).toBeInstanceOf(ToolError);
        expect((error as ToolError).exit).toBe(3);
      }
      mock.unplug();
      mock.setMishaps([]);
      // What was on its way when the cable was pulled has passed.
      await pause(mock.clock, 10_000);
      expect((await burn()).every((o) => o.kind === 'written')).toBe(true);
      expect(mock.chip.cells).toEqual(wanted);
    }
  });
});
