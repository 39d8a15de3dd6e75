import { describe, expect, it } from 'vitest';
import { base64OfBytes, hex } from '../../src/ground/byte-text.js';
import { crc32IsoHdlc } from '../../src/ground/check-sums.js';
import { pageChoice } from './against-mock.js';
import { failure, withChip } from './on-scripted-link.js';

describe('a stream', () => {
  const content = Uint8Array.from({ length: 400 }, (_, i) => i * 7);
  const sum = (from: number, to: number) => hex(crc32IsoHdlc(content.subarray(from, to)), 8);
  const data = (seq: string, from: number, to: number) =>
    `${seq} data ${hex(from, 1)} ${base64OfBytes(content.subarray(from, to))}`;

  it('when a line is missing then just its cells are asked for, and the sum of the whole decides', async () => {
    const { link, writer } = await withChip();
    const read = writer.read(0, 400);
    expect(link.heard()).toEqual(['02 read 0 190']);
    await link.reply(data('02', 0, 192), data('02', 384, 400), `02 ok ${sum(0, 400)}`);
    expect(link.heard()).toEqual(['03 read C0 C0']);
    await link.reply(data('03', 192, 384), `03 ok ${sum(192, 384)}`);
    expect(await read).toEqual(content);
  });

  it('when the sum does not fit then all is read again, and at last it is garbled', async () => {
    const { link, writer } = await withChip();
    const read = writer.read(0, 192).catch((error) => error);
    for (const seq of ['02', '03', '04', '05']) await link.reply(data(seq, 0, 192), `${seq} ok 00000000`);
    expect(link.heard()).toHaveLength(4);
    expect(await read).toMatchObject({ code: 'writer.garbled', exit: 3 });
  });

  it('when lines of cells that nobody asked for come then they change nothing', async () => {
    const { link, writer } = await withChip();
    const read = writer.read(100, 50);
    await link.reply(data('02', 0, 192), data('01', 100, 150), data('02', 100, 150), `02 ok ${sum(100, 150)}`);
    expect(await read).toEqual(content.subarray(100, 150));
  });

  it('when it lasts long then every line restarts the deadline', async () => {
    const { link, writer } = await withChip();
    const read = writer.read(0, 400);
    for (let from = 0; from < 400; from += 100) {
      await link.pass(500);
      await link.reply(data('02', from, from + 100));
    }
    await link.pass(500);
    await link.reply(`02 ok ${sum(0, 400)}`);
    expect(await read).toEqual(content);
    expect(link.heard()).toEqual(['02 read 0 190']);
  });

  it('when it is only noise without an end then the deadline comes', async () => {
    const { link, writer } = await withChip();
    const read = writer.read(0, 400).catch((error) => error);
    for (let i = 0; i < 300; i++) {
      await link.pass(100);
      await link.replyRaw('%$&/(');
    }
    expect(await read).toMatchObject({ code: 'writer.lost' });
  });

  it('when sums are missing then just their pages are asked for', async () => {
    const { link, writer } = await withChip();
    const sums = writer.sums(0, 640, 64);
    await link.reply('02 sums 200 00000009 0000000A', '02 ok A');
    expect(link.heard()).toEqual(['02 sum 0 280 40', '03 sum 0 200 40']);
    await link.reply(`03 sums 0 ${[1, 2, 3, 4, 5, 6, 7, 8].map((n) => hex(n, 8)).join(' ')}`, '03 ok 8');
    expect(await sums).toEqual([1, 2, 3, 4, 5, 6, 7, 8, 9, 10]);
  });

  it('when it is read again then the progress counts every cell once, and ends with all', async () => {
    const { link, writer } = await withChip();
    const seen: number[] = [];
    const read = writer.read(0, 400, (done) => seen.push(done));
    // The first time its sum does not fit, the second time a line comes twice and one is missing.
    await link.reply(data('02', 0, 192), data('02', 192, 384), data('02', 384, 400), '02 ok 00000000');
    await link.reply(data('03', 0, 192), data('03', 0, 192), data('03', 384, 400), `03 ok ${sum(0, 400)}`);
    await link.reply(data('04', 192, 384), `04 ok ${sum(192, 384)}`);
    expect(await read).toEqual(content);
    expect(seen).toEqual([192, 384, 400, 192, 192, 208, 400]);
  });

  it('when the first and the last line are missing then each gap is asked for by itself', async () => {
    const { link, writer } = await withChip();
    const read = writer.read(100, 300);
    await link.reply(data('02', 200, 300), `02 ok ${sum(100, 400)}`);
    await link.reply(data('03', 100, 200), `03 ok ${sum(100, 200)}`);
    await link.reply(data('04', 300, 400), `04 ok ${sum(300, 400)}`);
    expect(await read).toEqual(content.subarray(100, 400));
    expect(link.heard()).toEqual(['02 read 64 12C', '03 read 64 64', '04 read 12C 64']);
  });

  it('when no line comes through then the range is asked for four times and named, cells and port', async () => {
    const { link, writer } = await withChip();
    const read = failure(writer.read(100, 300));
    await link.replyInTurn('02 ok 00000000', '03 ok 00000000', '04 ok 00000000', '05 ok 00000000');
    expect(link.heard()).toHaveLength(4);
    expect((await read).message).toContain('cells 0x064 to 0x18F did not come over scripted');
  });

  it('when a line reaches over the end of what was asked then none of it is kept', async () => {
    const { link, writer } = await withChip();
    const seen: number[] = [];
    const read = writer.read(0, 100, (done) => seen.push(done));
    await link.reply(data('02', 50, 101), data('02', 0, 100), `02 ok ${sum(0, 100)}`);
    expect(await read).toEqual(content.subarray(0, 100));
    expect(seen).toEqual([100]);
  });

  it('when the end of a stream carries no sum then nothing is taken for proven', async () => {
    const { link, writer } = await withChip();
    const read = writer.read(0, 100);
    await link.reply('02 sums 0 00000001', data('02', 0, 100), '02 ok');
    await link.reply(data('03', 0, 100), `03 ok ${sum(0, 100)}`);
    expect(await read).toEqual(content.subarray(0, 100));
  });

  it('when damaged lines come then the stream is alive and goes on', async () => {
    const { link, writer } = await withChip();
    const read = writer.read(0, 400);
    await link.pass(500);
    await link.replyRaw('02 data 0 AAAA 1234');
    await link.pass(500);
    await link.reply(data('02', 0, 192));
    // Twenty of them in a row are still a stream; a good one begins the count anew.
    for (let i = 0; i < 20; i++) {
      await link.pass(300);
      await link.replyRaw('02 data');
    }
    await link.reply(data('02', 192, 400), `02 ok ${sum(0, 400)}`);
    expect(await read).toEqual(content);
    expect(link.heard()).toEqual(['02 read 0 190']);
  });

  it('when sums of other pages or in another place come then they change nothing', async () => {
    const { link, writer } = await withChip();
    const seen: number[] = [];
    const sums = writer.sums(128, 128, 64, (done) => seen.push(done));
    await link.reply(
      '02 sums 40 00000007 00000001', // the page before it, and the first
      '02 sums A0 00000008', // no page begins there
      '02 data 80 AA==',
      '02 sums 80 00000009 00000002 0000000A', // the first again, the second, one behind
      '02 ok 2',
    );
    expect(await sums).toEqual([1, 2]);
    expect(seen).toEqual([64, 64, 128]);
  });

  it('when sums take the chip long then the deadline has the reading of eight large pages', async () => {
    const { link, writer } = await withChip({ ...pageChoice, cells: 0x10000 });
    const sums = writer.sums(0, 0x10000, 0x1000);
    // 8 pages of 4096 cells at 10 us each are 328 ms on top of the silence.
    await link.pass(634 + 327);
    expect(link.heard()).toHaveLength(1);
    const eight = '00000001 00000002 00000003 00000004 00000005 00000006 00000007 00000008';
    await link.reply(`02 sums 0 ${eight}`, `02 sums 8000 ${eight}`, '02 ok 10');
    expect(await sums).toHaveLength(16);
  });

  it('when sums never come then the range is named after four rounds; as long as some come it is asked on', async () => {
    const { link, writer } = await withChip();
    const sums = failure(writer.sums(0, 640, 64));
    await link.reply('02 ok A');
    for (let page = 0; page < 6; page++)
      await link.reply(`${hex(3 + page)} sums ${hex(page * 64, 1)} 00000001`, `${hex(3 + page)} ok A`);
    await link.replyInTurn('09 ok 4', '0A ok 4', '0B ok 4');
    expect(link.heard()).toHaveLength(10);
    expect((await sums).message).toContain('cells 0x000 to 0x27F did not come');
  });

  it('when it is stopped then stop is sent, and the job ends when the writer confirmed it', async () => {
    const { link, writer } = await withChip();
    let ended = false;
    const read = failure(writer.read(0, 400).finally(() => (ended = true)));
    await link.reply(data('02', 0, 192));
    writer.stop();
    expect(link.heard()).toEqual(['02 read 0 190', '03 stop']);
    // What was on its way still comes.
    await link.reply(data('02', 192, 384));
    expect(ended).toBe(false);
    await link.reply('03 ok');
    expect(await read).toMatchObject({ code: 'writer.stopped' });
    writer.stop();
    expect(link.heard()).toEqual([]);
  });

  it('when the signal of a job that has ended is aborted then nothing is sent', async () => {
    const { link, writer } = await withChip();
    const abort = new AbortController();
    const read = writer.read(0, 100, undefined, { signal: abort.signal });
    await link.reply(data('02', 0, 100), `02 ok ${sum(0, 100)}`);
    await read;
    link.heard();
    abort.abort();
    expect(link.heard()).toEqual([]);
  });

  it('when the port is lost while a stream is being stopped then that is told', async () => {
    const { link, writer } = await withChip();
    const sums = failure(writer.sums(0, 640, 64));
    writer.stop();
    await link.lose();
    expect(await sums).toMatchObject({ code: 'link.gone' });
  });
});
