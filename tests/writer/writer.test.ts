import { describe, expect, it } from 'vitest';
import { crc32IsoHdlc } from '../../src/ground/check-sums.js';
import { seededRandom } from '../../src/ground/random.js';
import type { WriteBlock } from '../../src/writer/writer.js';
import { cellChip, cellChoice, onMock, pageChip, pageChoice } from './against-mock.js';

const blocksOf = (bytes: Uint8Array, size: number): WriteBlock[] =>
  Array.from({ length: bytes.length / size }, (_, i) => ({
    address: i * size,
    bytes: bytes.slice(i * size, (i + 1) * size),
  }));
const image = seededRandom(7).bytes(4096);

describe('a writer that behaves', () => {
  it('when it is opened then it introduces itself, and every request gets its answer', async () => {
    const { writer, mock } = await onMock();
    expect(writer.introduction).toMatchObject({ version: 2, build: 'mock-1.0.0', slots: 16 });
    expect((await writer.identify()).nonce).toBe(mock.firmware.nonce);
    expect(await writer.echo(Uint8Array.of(0, 255, 10))).toEqual(Uint8Array.of(0, 255, 10));
    expect(await writer.registers()).toBe(2);
    expect(await writer.presence(0)).toBe(0);
    expect(writer.window).toBe(16);
    await writer.hold(0x155, 7, 'released');
    await writer.park();
    await writer.close();
    expect(writer.counts).toMatchObject({ resent: 0, garbled: 0, refusedLines: 0, restarts: 0 });
  });

  it('when blocks are written then every outcome is told in order and the chip holds them', async () => {
    const { writer, mock } = await onMock();
    const told: number[] = [];
    const outcomes = await writer.writeBlocks(blocksOf(image, 64), { onDone: (index) => told.push(index) });
    expect(outcomes.every((o) => o.kind === 'written')).toBe(true);
    expect(told).toEqual([...Array(64).keys()]);
    expect(mock.chip.cells).toEqual(image);
    expect(mock.counts().cycles).toBe(64);
    expect(writer.counts.resent).toBe(0);
  });

  it('when the number of a block comes round again then the very same block is written, not answered from memory', async () => {
    const { writer, mock } = await onMock();
    await writer.writeBlocks([{ address: 0, bytes: Uint8Array.of(0xaa) }]);
    await writer.writeBlocks([{ address: 0, bytes: Uint8Array.of(0x55) }]);
    // Numbers go from 1 to 255: with these reads the next one is that of the first block.
    for (let reads = 0; reads < 253; reads++) await writer.read(0, 1);
    expect(await writer.writeBlocks([{ address: 0, bytes: Uint8Array.of(0xaa) }])).toEqual([{ kind: 'written' }]);
    expect(mock.chip.cells[0]).toBe(0xaa);
  });

  it('when a range is read or summed then bytes and sums are those of the chip', async () => {
    const { writer } = await onMock({ chip: { ...pageChip, contents: image } });
    const seen: number[] = [];
    expect(await writer.read(100, 1000, (done) => seen.push(done))).toEqual(image.subarray(100, 1100));
    expect(seen.at(-1)).toBe(1000);
    expect(await writer.sums(64, 640, 64)).toEqual(
      blocksOf(image, 64)
        .slice(1, 11)
        .map((b) => crc32IsoHdlc(b.bytes)),
    );
  });

  it('when the chip is written cell by cell then a block is up to 64 cells and equal cells cost nothing', async () => {
    const { writer, mock } = await onMock({ chip: { ...cellChip, contents: 0xff } }, cellChoice);
    const bytes = new Uint8Array(2048).fill(0xff);
    bytes.set([1, 2, 3], 700);
    expect((await writer.writeBlocks(blocksOf(bytes, 64))).every((o) => o.kind === 'written')).toBe(true);
    expect(mock.chip.cells).toEqual(bytes);
    expect(mock.counts().cycles).toBe(3);
    expect(writer.window).toBe(16);
  });

  it('when the line is slow to answer then the window hides it behind the write cycles', async () => {
    const { writer, mock } = await onMock({ answerDelayMs: 16 });
    expect(await writer.chooseRate()).toBe(1_000_000);
    const begin = mock.clock.now();
    await writer.writeBlocks(blocksOf(image, 64));
    const spentMs = mock.clock.now() - begin;
    // 64 cycles of 3 ms behind a load window of 150 us; stop-and-wait would add 64 times 16 ms.
    expect(spentMs).toBeLessThan(64 * 3.15 * 1.15 + 20);
    await writer.close();
    expect(mock.firmware.baud).toBe(115200);
  });
});

describe('outcomes that are no success', () => {
  it('when a page does not take then its cell is told and the others are written', async () => {
    const { writer, mock } = await onMock({
      chip: { ...pageChip, contents: 0xff, faults: [{ kind: 'dead-page', address: 128 }] },
    });
    const outcomes = await writer.writeBlocks(blocksOf(image, 64));
    expect(outcomes[2]).toEqual({ kind: 'mismatch', address: 128, wanted: image[128], actual: 0xff });
    expect(outcomes.filter((o) => o.kind === 'written')).toHaveLength(63);
    expect(mock.chip.cells.subarray(192)).toEqual(image.subarray(192));
  });

  it('when the chip never becomes ready then nothing more is written', async () => {
    const { writer } = await onMock({ chip: { ...pageChip, faults: [{ kind: 'never-ready' }] } });
    const outcomes = await writer.writeBlocks(blocksOf(image, 64));
    expect(outcomes[0]!.kind).toBe('never-ready');
    expect(outcomes.slice(20).every((o) => o.kind === 'stopped')).toBe(true);
  });

  it('when the socket is empty then presence is refused', async () => {
    const { writer } = await onMock({ chip: { ...pageChip, faults: [{ kind: 'absent' }] } });
    await expect(writer.presence(0)).rejects.toMatchObject({ code: 'writer.not-driven', exit: 4 });
  });

  it('when it is stopped in the middle then the block in progress ends, the rest is told as stopped, and the writer is free', async () => {
    const { writer, mock } = await onMock();
    const blocks = blocksOf(image, 64);
    const outcomes = await writer.writeBlocks(blocks, { onDone: (index) => index === 9 && writer.stop() });
    const kinds = outcomes.map((o) => o.kind);
    const written = kinds.filter((kind) => kind === 'written').length;
    expect(written).toBeGreaterThanOrEqual(10);
    expect(written).toBeLessThan(30);
    expect(kinds.slice(written).every((kind) => kind === 'stopped')).toBe(true);
    expect(mock.chip.cells.subarray(0, written * 64)).toEqual(image.subarray(0, written * 64));
    expect(mock.counts().cycles).toBe(written);
    expect(await writer.read(0, 64)).toEqual(image.subarray(0, 64));
  });

  it('when a read is stopped then it says so and the writer is free at once', async () => {
    const { writer } = await onMock({ chip: { ...pageChip, contents: image } });
    const read = writer.read(0, 4096, (done) => done > 1000 && writer.stop());
    await expect(read).rejects.toMatchObject({ code: 'writer.stopped', exit: 130 });
    expect(await writer.read(0, 10)).toEqual(image.subarray(0, 10));
  });

  it('when the signal was aborted before then nothing is sent', async () => {
    const { writer, mock } = await onMock();
    const signal = AbortSignal.abort();
    const before = mock.counts().lines;
    expect((await writer.writeBlocks(blocksOf(image, 64), { signal })).every((o) => o.kind === 'stopped')).toBe(true);
    await expect(writer.read(0, 10, undefined, { signal })).rejects.toMatchObject({ code: 'writer.stopped' });
    expect(mock.counts().lines).toBe(before);
  });

  it('when protection is asked for then it is switched, and refused on a part without codes', async () => {
    const { writer, mock } = await onMock();
    await writer.protect();
    expect(mock.chip.protected).toBe(true);
    expect((await writer.writeBlocks(blocksOf(image, 64).slice(0, 1)))[0]!.kind).toBe('mismatch');
    await writer.unprotect();
    expect(mock.chip.protected).toBe(false);
    await writer.chip({ ...pageChoice, protection: 'none' });
    await expect(writer.protect()).rejects.toMatchObject({ code: 'writer.no-protection', exit: 4 });
  });

  it('when levels are unsafe then hold says so', async () => {
    const { writer } = await onMock();
    await expect(writer.hold(0, 2, 'released')).rejects.toMatchObject({ code: 'writer.unsafe-hold' });
  });
});

describe('a host that is wrong', () => {
  it('when a block crosses a page, is empty or leaves the chip then nothing is sent', async () => {
    const { writer } = await onMock();
    const before = writer.counts.sent;
    for (const block of [
      { address: 60, bytes: new Uint8Array(5) },
      { address: 0, bytes: new Uint8Array(0) },
      { address: 4096, bytes: new Uint8Array(1) },
    ])
      await expect(writer.writeBlocks([{ address: 0, bytes: new Uint8Array(64) }, block])).rejects.toThrow(
        'broken promise',
      );
    expect(writer.counts.sent).toBe(before);
  });

  it('when the chip was not chosen then reading it is a broken promise', async () => {
    const { writer } = await onMock({}, null);
    await expect((async () => writer.read(0, 1))()).rejects.toThrow('broken promise');
  });

  it('when a request is unknown to the writer then its firmware is too old', async () => {
    const { writer } = await onMock({ lacks: ['registers'] });
    await expect(writer.registers()).rejects.toMatchObject({ code: 'writer.too-old', exit: 4 });
  });
});
