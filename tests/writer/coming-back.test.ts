// A writer that fell silent or restarted in the middle of a job: how it is found, and what the user is told.
import { describe, expect, it } from 'vitest';
import type { Writer } from '../../src/writer/writer.js';
import { cellChoice, pageChoice } from './against-mock.js';
import { atRate, failure, greeted, withChip } from './on-scripted-link.js';
import type { ScriptedLink } from './scripted-link.js';

/** Lets a request and the search behind it go without an answer; the search that follows has begun. */
const fallSilent = async (link: ScriptedLink): Promise<void> => {
  await link.pass(640 + 8 * 250);
  link.heard();
};

describe('a writer that fell silent', () => {
  it('when it answers who then its work is ended, and the request is made once more', async () => {
    const { link, writer, events } = await greeted();
    const asked = writer.registers();
    await fallSilent(link);
    await link.answerSearch(0x77);
    expect(link.heard()).toEqual(['02 stop']);
    await link.reply('02 ok');
    expect(link.heard()).toEqual(['03 registers']);
    await link.reply('03 ok 2');
    expect(await asked).toBe(2);
    expect(events).toEqual([{ kind: 'found-again', request: 'registers' }]);
  });

  it('when it fell back to 115200 then it is found there, the user is told, and the lower rate stays', async () => {
    const { link, writer, events } = await atRate(500_000);
    const asked = writer.registers();
    // 500 ms of silence, the longest line at this rate 8 ms, 100 ms for adapters; then three questions at the rate of now.
    await link.pass(610 + 8 * 250);
    link.heard();
    await link.pass(750 - 20);
    expect(link.heard().map((line) => line.slice(3))).toEqual(['who', 'who']);
    expect(link.ratesSet).toEqual([]);
    await link.pass(20);
    expect(link.ratesSet).toEqual([115_200]);
    expect(link.heard()).toEqual(['8F who']);
    await link.answerSearch(0x77);
    await link.replyInTurn('07 ok', '08 ok 2');
    expect(await asked).toBe(2);
    expect(link.heard()).toEqual(['07 stop', '08 registers']);
    expect(writer.baud).toBe(115_200);
    expect(events).toEqual([
      { kind: 'found-again', request: 'registers' },
      { kind: 'rate-fell-back', baud: 115_200 },
    ]);
  });

  it('when a block with long write cycles is in progress then the answer to stop is waited for as long', async () => {
    // 64 cells of 100 ms each may be in the block.
    const { link, writer } = await withChip({ ...cellChoice, cycleUs: 100_000 });
    const asked = writer.registers();
    await fallSilent(link);
    await link.answerSearch(0x77);
    expect(link.heard()).toEqual(['03 stop']);
    await link.pass(6000);
    expect(link.heard()).toEqual([]);
    await link.replyInTurn('03 ok', '04 ok 2');
    expect(await asked).toBe(2);
  });

  it('when it is silent again right after then it is lost, and the message names port and request', async () => {
    const { link, writer } = await greeted();
    const asked = failure(writer.registers());
    await fallSilent(link);
    await link.answerSearch(0x77);
    await link.reply('02 ok');
    expect(link.heard()).toEqual(['02 stop', '03 registers']);
    await link.pass(640 + 8 * 250);
    const { message } = await asked;
    expect(message).toBe('The writer on scripted stopped answering (last asked: registers).');
    expect(link.heard()).toEqual(new Array(8).fill('8F who'));
  });

  it('when it answers who it is and never to stop then it is lost, in bounded time', async () => {
    const { link, writer } = await greeted();
    const asked = failure(writer.registers());
    let searches = 0;
    for (let ms = 0; ms < 60_000; ms += 100) {
      await link.pass(100);
      for (const line of link.heard()) {
        if (!line.endsWith('who')) continue;
        searches++;
        await link.answerSearch(0x77);
      }
    }
    expect(await asked).toMatchObject({ code: 'writer.lost' });
    // One behind each of the four sendings of the request and of three stops, and those that bring them about.
    expect(searches).toBeLessThan(25);
  });

  it('when the port is lost while it is looked for or brought back then that is told', async () => {
    for (const found of [false, true]) {
      const { link, writer } = await greeted();
      const asked = failure(writer.registers());
      await fallSilent(link);
      if (found) await link.answerSearch(0x77);
      await link.lose();
      expect(await asked).toMatchObject({ code: 'link.gone' });
    }
  });
});

describe('what is told of a lost writer', () => {
  const { cells } = pageChoice;
  it.each<[string, (writer: Writer) => Promise<unknown>]>([
    ['who', (writer) => writer.identify()],
    ['echo', (writer) => writer.echo(Uint8Array.of(1))],
    ['rate', (writer) => writer.setRate(500_000)],
    ['rate', (writer) => writer.chooseRate()],
    ['chip', (writer) => writer.chip(pageChoice)],
    ['registers', (writer) => writer.registers()],
    ['presence', (writer) => writer.presence(0)],
    ['read', (writer) => writer.read(0, cells)],
    ['sum', (writer) => writer.sums(0, cells, 64)],
    ['write', (writer) => writer.writeBlocks([{ address: 0, bytes: Uint8Array.of(1) }])],
    ['protect', (writer) => writer.protect()],
    ['unprotect', (writer) => writer.unprotect()],
    ['hold', (writer) => writer.hold(0, 7, 'released')],
    ['stop', (writer) => writer.park()],
  ])('when it falls silent in %s then the message says so', async (request, ask) => {
    const { link, writer } = await withChip();
    const lost = failure(ask(writer));
    await link.pass(20_000);
    expect((await lost).message).toBe(`The writer on scripted stopped answering (last asked: ${request}).`);
  });
});

describe('requests that wait for the chip', () => {
  const slow = { ...cellChoice, cycleUs: 100_000 };

  it('when a write cycle may be going on then parking and closing wait for the longest block', async () => {
    const { link, writer } = await withChip(slow);
    const parked = writer.park();
    await link.pass(6900);
    await link.reply('02 ok');
    await parked;
    const closed = writer.close();
    await link.pass(6900);
    expect(link.heard()).toEqual(['02 stop', '03 stop']);
    await link.reply('03 ok');
    await closed;
    // It runs at 115200 already.
    expect(link.said).toEqual([]);
    expect(link.isOpen).toBe(false);
  });

  it('when the codes are sent then their write cycle is waited for', async () => {
    const { link, writer } = await withChip(slow);
    const done = writer.protect();
    await link.pass(634 + 100);
    expect(link.heard()).toEqual(['02 protect']);
    await link.reply('02 ok');
    await done;
  });

  it('when nobody answers any more then closing says nothing more than the search line, and closes', async () => {
    const { link, writer } = await withChip();
    const closed = writer.close();
    await link.pass(2400);
    await closed;
    expect(link.heard()).toEqual(['02 stop', '8F who', '8F who', '8F who', '8F who']);
    expect(link.isOpen).toBe(false);
    const fast = await atRate(500_000);
    const closing = fast.writer.close();
    await fast.link.reply('06 ok');
    await fast.link.pass(700);
    await closing;
    expect(fast.link.heard()).toEqual(['06 stop', '07 rate 1C200']);
  });
});

describe('a writer that restarted', () => {
  it('when that shows in its answer to who then the chip is chosen again', async () => {
    const { link, writer, events } = await withChip();
    const asked = writer.identify();
    await link.greet(0x78, 2);
    await link.pass(0);
    await link.answerSearch(0x78);
    expect(link.heard()).toEqual(['02 who', '8F who', '03 chip 1000 40 1388 96 2 1']);
    await link.reply('03 ok');
    await link.greet(0x78, 4);
    expect(await asked).toMatchObject({ nonce: 0x78 });
    expect(events).toEqual([{ kind: 'restarted', restarts: 1 }]);
  });

  it('when it ran at a higher rate then rate and chip are brought back before the request', async () => {
    const { link, writer, events } = await atRate(500_000);
    const choosing = writer.chip(pageChoice);
    await link.reply('06 ok');
    await choosing;
    link.heard();
    const asked = writer.registers();
    await link.greet(0x78);
    await link.pass(750);
    expect(link.ratesSet).toEqual([115_200]);
    await link.pass(0);
    expect(link.heard().at(-1)).toBe('8F who');
    await link.answerSearch(0x78);
    expect(link.heard()).toEqual(['08 rate 7A120']);
    // This time the writer cannot make it: the line stays slow, and that is told.
    await link.reply('08 no 10');
    expect(link.heard()).toEqual(['09 chip 1000 40 1388 96 2 1']);
    await link.replyInTurn('09 ok', '0A ok 2');
    expect(await asked).toBe(2);
    expect(events).toEqual([
      { kind: 'restarted', restarts: 1 },
      { kind: 'rate-fell-back', baud: 115_200 },
    ]);
  });

  it('when the answers to chip are lost after a restart then it is one restart all the same, and the chip is chosen', async () => {
    const { link, writer, events } = await withChip();
    const asked = writer.registers();
    await link.reply('02 no 5');
    await link.pass(0);
    await link.answerSearch(0x78);
    await fallSilent(link);
    await link.answerSearch(0x78);
    await link.reply('04 ok');
    expect(link.heard()).toEqual(['04 stop', '05 chip 1000 40 1388 96 2 1']);
    await link.replyInTurn('05 ok', '06 ok 2');
    expect(await asked).toBe(2);
    expect(writer.counts.restarts).toBe(1);
    expect(events).toEqual([
      { kind: 'restarted', restarts: 1 },
      { kind: 'found-again', request: 'registers' },
    ]);
  });

  it('when it restarts three times then each is forgiven; the fourth ends the job with their number', async () => {
    for (const restarts of [3, 4]) {
      const { link, writer, events } = await greeted();
      const asked = writer.registers();
      const failed = restarts > 3 ? failure(asked) : null;
      for (let time = 1; time <= restarts; time++) {
        await link.greet(0x77 + time);
        await link.pass(0);
        await link.answerSearch(0x77 + time);
      }
      if (failed) {
        expect((await failed).message).toBe('The writer on scripted restarted 4 times during this job.');
      } else {
        await link.reply(`${link.heard().at(-1)!.slice(0, 2)} ok 2`);
        expect(await asked).toBe(2);
      }
      expect(events.map((event) => event.kind === 'restarted' && event.restarts)).toEqual([1, 2, 3]);
    }
  });

  it('when it restarts again while it is brought back then both are counted and the chip is chosen', async () => {
    const { link, writer } = await withChip();
    const asked = writer.registers();
    await link.greet(0x78);
    await link.pass(0);
    await link.answerSearch(0x78);
    expect(link.heard().at(-1)).toBe('03 chip 1000 40 1388 96 2 1');
    await link.greet(0x79);
    await link.pass(0);
    await link.answerSearch(0x79);
    expect(link.heard().at(-1)).toBe('04 chip 1000 40 1388 96 2 1');
    await link.replyInTurn('04 ok', '05 ok 2');
    expect(await asked).toBe(2);
    expect(writer.counts.restarts).toBe(2);
  });

  it('when it restarts during the search for it then that is no reason to give up', async () => {
    const { link, writer } = await greeted();
    const asked = writer.registers();
    await fallSilent(link);
    await link.greet(0x78);
    await link.pass(250);
    link.heard();
    await link.answerSearch(0x78);
    expect(link.heard()).toEqual(['02 registers']);
    await link.reply('02 ok 2');
    expect(await asked).toBe(2);
    expect(writer.counts.restarts).toBe(1);
  });
});
