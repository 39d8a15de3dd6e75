import { describe, expect, it } from 'vitest';
import { hex } from '../../src/ground/byte-text.js';
import { Conversation } from '../../src/writer/conversation.js';
import { failure, greeted, withChip } from './on-scripted-link.js';
import { ScriptedLink } from './scripted-link.js';

describe('one request and its answer', () => {
  it('when no answer comes, and the writer is there, then it is asked three times more, each with a number of its own', async () => {
    const { link, writer } = await greeted();
    link.present = 0x77;
    const asked = writer.registers();
    // Silence 500 ms, one longest line at 115200 baud about 36 ms, 100 ms for adapters and a busy host.
    await link.pass(634);
    expect(link.heard()).toEqual(['01 registers']);
    await link.pass(66);
    expect(link.heard()).toEqual(['02 registers']);
    await link.pass(1400);
    expect(link.heard()).toEqual(['03 registers', '04 registers']);
    await link.reply('04 ok 3');
    expect(await asked).toBe(3);
    // Three search lines between them.
    expect(writer.counts).toMatchObject({ sent: 7, resent: 3 });
  });

  it('when nothing at all arrives then nothing but the search line is said until the writer speaks', async () => {
    const { link, writer } = await greeted();
    const asked = writer.registers();
    await link.pass(637 + 8 * 250 - 10);
    expect(link.heard()).toEqual(['01 registers', ...new Array(8).fill('8F who')]);
    await link.answerSearch(0x77);
    expect(link.heard()).toEqual(['02 registers']);
    await link.reply('02 ok 2');
    expect(await asked).toBe(2);
  });

  it('when something arrives, however damaged, then the writer speaks, and the request goes again without a search', async () => {
    const { link, writer } = await greeted();
    const asked = writer.registers();
    await link.replyRaw('01 ok 2 0000');
    await link.pass(640);
    expect(link.heard()).toEqual(['01 registers', '02 registers']);
    await link.reply('02 ok 2');
    expect(await asked).toBe(2);
  });

  it('when a stream falls silent and the writer is still streaming then it is stopped, and the request is made again', async () => {
    const { link, writer } = await withChip();
    const asked = writer.read(0, 2);
    await link.reply('02 data 0 AA==');
    await link.pass(700);
    expect(link.heard()).toEqual(['02 read 0 2', '8F who']);
    await link.reply('8F no 9');
    expect(link.heard()).toEqual(['03 stop', '8F who']);
    await link.reply('03 ok');
    await link.answerSearch(0x77);
    expect(link.heard()).toEqual(['04 read 0 2']);
    await link.reply('04 data 0 AAA=', '04 ok 41D912FF');
    expect([...(await asked)]).toEqual([0, 0]);
  });

  it('when an answer to an earlier sending comes late then it is not taken for the new one', async () => {
    const { link, writer } = await greeted();
    link.present = 0x77;
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

  it('when the writer was busy then all repeats are left for silence, and endless business is told', async () => {
    const { link, writer } = await greeted();
    link.present = 0x77;
    const asked = failure(writer.registers());
    for (let seq = 1; seq <= 4; seq++) {
      await link.reply(`${hex(seq)} no 9`);
      await link.pass(100);
    }
    link.heard();
    await link.pass(3 * 637);
    expect(link.heard()).toEqual(['06 registers', '07 registers', '08 registers']);
    for (let seq = 8; seq <= 60; seq++) {
      await link.reply(`${hex(seq)} no 9`);
      await link.pass(100);
    }
    expect((await asked).message).toBe('The writer refused "registers": busy (9).');
    // 46 more pauses, then no other sending.
    expect(link.heard()).toHaveLength(46);
  });

  it('when a line of a stream comes that nobody asked for then it changes nothing', async () => {
    const { link, writer } = await greeted();
    const asked = writer.registers();
    await link.reply('01 data 0 AA==', '01 ok 2');
    expect(await asked).toBe(2);
  });

  it('when nothing answers any more then the writer is looked for, and at last it is lost', async () => {
    const { link, writer } = await greeted();
    const asked = writer.registers().catch((error) => error);
    await link.pass(20_000);
    expect(await asked).toMatchObject({ code: 'writer.lost', exit: 3 });
    expect(link.heard().filter((line) => line.endsWith('who')).length).toBeGreaterThan(20);
  });

  it('when it answers who and nothing else then it is lost too', async () => {
    const { link, writer } = await greeted();
    const asked = writer.registers().catch((error) => error);
    for (let i = 0; i < 100; i++) {
      await link.pass(100);
      for (const line of link.heard()) {
        if (line.endsWith('who')) await link.answerSearch(0x77);
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
    await link.reply('01 ok zz');
    expect(await asked).toMatchObject({ code: 'writer.refused', exit: 4 });
    expect((await asked).message).toBe('The writer refused "registers": an answer of another form (0 zz).');
    const other = failure(writer.registers());
    await link.greet(0x77, 2);
    expect((await other).message).toContain('another form (0)');
  });

  it('when numbers run around then none that is outstanding is given twice, and never 00', () => {
    const conversation = new Conversation(new ScriptedLink());
    conversation.reserved.add(5).add(255);
    const given = Array.from({ length: 600 }, () => conversation.compose({ word: 'who' }).seq);
    expect(new Set(given).size).toBe(252);
    for (const seq of [0, 5, 0x8f, 255]) expect(given).not.toContain(seq);
  });
});
