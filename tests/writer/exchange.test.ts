import { describe, expect, it } from 'vitest';
import { base64OfBytes, hex } from '../../src/ground/byte-text.js';
import { crc32IsoHdlc } from '../../src/ground/check-sums.js';
import { Conversation } from '../../src/writer/conversation.js';
import { greeted, withChip } from './on-scripted-link.js';
import { ScriptedLink } from './scripted-link.js';

const blocks = (count: number) =>
  Array.from({ length: count }, (_, i) => ({ address: i * 64, bytes: Uint8Array.of(i) }));

describe('one request and its answer', () => {
  it('when no answer comes then it is asked three times more, each with a number of its own, after the announced silence', async () => {
    const { link, writer } = await greeted();
    const asked = writer.registers();
    await link.pass(499);
    expect(link.heard()).toEqual(['01 registers']);
    // Silence 500 ms, one longest line at 115200 baud about 36 ms, 100 ms for adapters and a busy host.
    await link.pass(201);
    expect(link.heard()).toEqual(['02 registers']);
    await link.pass(1400);
    expect(link.heard()).toEqual(['03 registers', '04 registers']);
    await link.reply('04 ok 3');
    expect(await asked).toBe(3);
    expect(writer.counts).toMatchObject({ sent: 4, resent: 3 });
  });

  it('when an answer to an earlier sending comes late then it is not taken for the new one', async () => {
    const { link, writer } = await greeted();
    const asked = writer.registers();
    await link.pass(700);
    await link.reply('01 ok 2', '02 ok 3');
    expect(await asked).toBe(3);
  });

  it('when the writer could not read the line then it is sent again at once', async () => {
    const { link, writer } = await greeted();
    const asked = writer.registers();
    await link.reply('00 no 1');
    expect(link.heard()).toEqual(['01 registers', '02 registers']);
    await link.reply('02 ok 2');
    expect(await asked).toBe(2);
    expect(writer.counts.refusedLines).toBe(1);
  });

  it('when the writer is busy then it is asked again after a while, and that is no failure', async () => {
    const { link, writer } = await greeted();
    const asked = writer.registers();
    for (let seq = 1; seq <= 8; seq++) {
      await link.reply(`${hex(seq)} no 9`);
      await link.pass(100);
    }
    expect(link.heard()).toHaveLength(9);
    await link.reply('09 ok 2');
    expect(await asked).toBe(2);
  });

  it('when nothing answers any more then the writer is looked for, and at last it is lost', async () => {
    const { link, writer } = await greeted();
    const asked = writer.registers().catch((error) => error);
    await link.pass(20_000);
    expect(await asked).toMatchObject({ code: 'writer.lost', exit: 3 });
    expect(link.heard().filter((line) => line.endsWith('identify')).length).toBeGreaterThan(20);
  });

  it('when it answers identify and nothing else then it is lost too', async () => {
    const { link, writer } = await greeted();
    const asked = writer.registers().catch((error) => error);
    for (let i = 0; i < 100; i++) {
      await link.pass(100);
      for (const line of link.heard()) {
        if (line.endsWith('identify')) await link.greet(0x77, Number.parseInt(line, 16));
        if (line.endsWith('stop')) await link.reply(`${line.slice(0, 2)} ok`);
      }
    }
    expect(await asked).toMatchObject({ code: 'writer.lost' });
  });

  it('when the device hangs and sending never ends then the deadline holds all the same', async () => {
    const { link, writer } = await greeted();
    link.sending = () => new Promise(() => {});
    const asked = writer.registers().catch((error) => error);
    await link.pass(20_000);
    expect(await asked).toMatchObject({ code: 'writer.lost' });
  });

  it('when the port is lost between two requests then the next one says so', async () => {
    const { link, writer } = await greeted();
    await link.lose();
    await expect(writer.registers()).rejects.toMatchObject({ code: 'link.gone' });
    await expect(writer.registers()).rejects.toMatchObject({ code: 'link.gone' });
  });

  it('when two requests are made at once then that is a broken promise', async () => {
    const { link, writer } = await greeted();
    const first = writer.registers();
    await expect(writer.registers()).rejects.toThrow('broken promise');
    await link.reply('01 ok 2');
    expect(await first).toBe(2);
  });

  it('when an answer has another form then it is refused', async () => {
    const { link, writer } = await greeted();
    const asked = writer.registers().catch((error) => error);
    await link.reply('01 ok');
    expect(await asked).toMatchObject({ code: 'writer.refused', exit: 4 });
  });
});

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
});

describe('blocks in the window', () => {
  it('when there are more than the window takes then it is kept full, never fuller', async () => {
    const { link, writer } = await withChip();
    const writing = writer.writeBlocks(blocks(20));
    expect(link.heard()).toHaveLength(16);
    await link.reply('02 ok');
    expect(link.heard()).toEqual(['12 write 400 EA==']);
    expect(writer.counts.sent).toBe(18);
    for (let seq = 3; seq <= 0x15; seq++) await link.reply(`${hex(seq)} ok`);
    expect((await writing).every((o) => o.kind === 'written')).toBe(true);
  });

  it('when a smaller window is asked for then no more are outstanding', async () => {
    const { link, writer } = await withChip();
    const writing = writer.writeBlocks(blocks(3), { window: 1 });
    for (const seq of ['02', '03', '04']) {
      expect(link.heard()).toHaveLength(1);
      await link.reply(`${seq} ok`);
    }
    await writing;
  });

  it('when an earlier block was lost then the very same line goes again as soon as a later one is answered', async () => {
    const { link, writer } = await withChip();
    const writing = writer.writeBlocks(blocks(3));
    const first = link.said[0];
    link.heard();
    await link.reply('03 ok');
    expect(link.said).toEqual([first]);
    await link.reply('04 ok', '02 ok');
    await writing;
    expect(writer.counts.resent).toBe(1);
  });

  it('when nothing is heard then the deadline counts the cycle of the chip', async () => {
    const { link, writer } = await withChip();
    const writing = writer.writeBlocks(blocks(2));
    link.heard();
    await link.pass(600);
    expect(link.heard()).toEqual([]);
    await link.pass(100);
    expect(link.heard()).toEqual(['02 write 0 AA==', '03 write 40 AQ==']);
    await link.reply('02 ok', '03 ok');
    await writing;
  });

  it('when the writer has no room then the block goes again after the next answer', async () => {
    const { link, writer } = await withChip();
    const writing = writer.writeBlocks(blocks(3));
    link.heard();
    await link.reply('04 no 8');
    expect(link.heard()).toEqual([]);
    await link.reply('02 ok');
    expect(link.heard()).toEqual(['04 write 80 Ag==']);
    await link.reply('03 ok', '04 ok');
    expect((await writing).map((o) => o.kind)).toEqual(['written', 'written', 'written']);
  });

  it('when the host is at fault then the job ends with the refusal by name', async () => {
    const { link, writer } = await withChip();
    const writing = writer.writeBlocks(blocks(1)).catch((error) => error);
    await link.reply('02 no 7');
    expect(await writing).toMatchObject({ code: 'writer.refused', message: expect.stringContaining('bad-block') });
  });

  it('when no chip is chosen there any more then it restarted: it is chosen again and the block goes again', async () => {
    const { link, writer } = await withChip();
    const writing = writer.writeBlocks(blocks(1));
    link.heard();
    await link.reply('02 no 5');
    await link.pass(0);
    expect(link.heard()).toEqual(['03 identify']);
    await link.greet(0x78, 3);
    expect(link.heard()).toEqual(['04 chip 1000 40 1388 96 2 1']);
    await link.reply('04 ok');
    expect(link.heard()).toEqual(['05 write 0 AA==']);
    await link.reply('05 ok');
    expect((await writing)[0]!.kind).toBe('written');
    expect(writer.counts.restarts).toBe(1);
  });

  it('when it is stopped then the outcomes before the answer to stop count, and lost ones are not written', async () => {
    const { link, writer } = await withChip();
    const writing = writer.writeBlocks(blocks(5));
    link.heard();
    writer.stop();
    expect(link.heard()).toEqual(['07 stop']);
    await link.reply('03 no F', '04 no F', '07 ok');
    // The block in progress is answered before or after; 05 and 06 were lost on their way.
    await link.pass(100);
    await link.reply('02 ok');
    expect((await writing).map((o) => o.kind)).toEqual(['written', 'stopped', 'stopped', 'stopped', 'stopped']);
    writer.stop();
    expect(link.heard()).toEqual([]);
  });

  it('when the answer to stop is lost then stop goes again, and no block', async () => {
    const { link, writer } = await withChip();
    const writing = writer.writeBlocks(blocks(2));
    writer.stop();
    link.heard();
    await link.pass(800);
    expect(link.heard()).toEqual(['05 stop']);
    await link.reply('05 ok');
    // No outcome comes any more: the deadline ends it.
    await link.pass(800);
    expect(link.heard()).toEqual([]);
    expect((await writing).map((o) => o.kind)).toEqual(['stopped', 'stopped']);
  });

  it('when numbers run around then none that is outstanding is given twice, and never 00', () => {
    const conversation = new Conversation(new ScriptedLink());
    conversation.reserved.add(5).add(255);
    const given = Array.from({ length: 600 }, () => conversation.compose({ word: 'identify' }).seq);
    expect(new Set(given).size).toBe(253);
    for (const seq of [0, 5, 255]) expect(given).not.toContain(seq);
  });
});
