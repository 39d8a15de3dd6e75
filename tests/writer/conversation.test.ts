// What comes in while nobody waits, or that nobody asked for, and how the line is counted.
import { describe, expect, it } from 'vitest';
import { ToolError } from '../../src/ground/errors.js';
import { failure, greeted } from './on-scripted-link.js';

describe('lines that no request waits for', () => {
  it('when the writer greets anew between two requests then the next one brings it back, and once', async () => {
    const { link, writer, events } = await greeted();
    await link.greet(0x78);
    const asked = writer.registers();
    await link.pass(0);
    expect(link.heard().at(-1)).toBe('8F who');
    await link.answerSearch(0x78);
    expect(link.heard()).toEqual(['01 registers']);
    await link.reply('01 ok 2');
    expect(await asked).toBe(2);
    expect(events).toEqual([{ kind: 'restarted', restarts: 1 }]);
  });

  it('when it greets anew during a request then no deadline is waited for', async () => {
    const { link, writer } = await greeted();
    const asked = writer.registers();
    link.heard();
    await link.greet(0x78);
    await link.pass(0);
    expect(link.heard()).toEqual(['8F who']);
    await link.answerSearch(0x78);
    await link.reply('02 ok 2');
    expect(await asked).toBe(2);
  });

  it('when the same greeting comes twice then it is one start', async () => {
    const { link, writer, events } = await greeted();
    await link.greet(0x77);
    const asked = writer.registers();
    await link.greet(0x77);
    expect(link.heard()).toEqual(['01 registers']);
    await link.reply('01 ok 2');
    expect(await asked).toBe(2);
    expect(events).toEqual([]);
  });

  it('when lines without a number come then only refusals mean a line of ours', async () => {
    const { link, writer } = await greeted();
    // Nobody waits: there is nothing to send again.
    await link.reply('00 no 1');
    const asked = writer.registers();
    await link.reply('00 ok', '00 data 0 AA==');
    expect(link.heard()).toEqual(['01 registers']);
    await link.reply('01 ok 2');
    await asked;
    expect(writer.counts).toEqual({ sent: 1, resent: 0, heard: 5, garbled: 0, refusedLines: 1, restarts: 0 });
  });

  it('when lines are damaged or endless then they are counted, and change nothing', async () => {
    const { link, writer } = await greeted();
    const asked = writer.registers();
    await link.replyRaw('01 ok 3 0000');
    await link.rave();
    await link.reply('01 ok 2');
    expect(await asked).toBe(2);
    expect(writer.counts).toMatchObject({ sent: 1, heard: 2, garbled: 2 });
  });
});

describe('a port that is lost', () => {
  it('when sending tells it first then the request ends with that, and every later one', async () => {
    const { link, writer } = await greeted();
    link.sending = () => Promise.reject(new ToolError('link.gone', { path: link.path }));
    expect(await failure(writer.registers())).toMatchObject({ code: 'link.gone' });
    link.sending = async () => {};
    link.heard();
    expect(await failure(writer.registers())).toMatchObject({ code: 'link.gone' });
    await link.pass(1000);
    expect(link.heard()).toEqual([]);
  });

  it('when it is lost in a request then that is told at once, with the path', async () => {
    const { link, writer } = await greeted();
    const asked = failure(writer.registers());
    await link.lose();
    expect((await asked).message).toContain('The port scripted is gone');
    await writer.close();
    expect(link.isOpen).toBe(false);
  });
});
