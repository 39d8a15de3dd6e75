import { describe, expect, it } from 'vitest';
import { hex } from '../../src/ground/byte-text.js';
import { cellChoice, pageChoice } from './against-mock.js';
import { failure, withChip } from './on-scripted-link.js';

const blocks = (count: number) =>
  Array.from({ length: count }, (_, i) => ({ address: i * 64, bytes: Uint8Array.of(i) }));

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
    link.present = 0x77;
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
    expect(link.heard()).toEqual(['8F who']);
    await link.answerSearch(0x78);
    expect(link.heard()).toEqual(['03 chip 1000 40 1388 96 2 1']);
    await link.reply('03 ok');
    expect(link.heard()).toEqual(['04 write 0 AA==']);
    await link.reply('04 ok');
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
    link.present = 0x77;
    link.heard();
    await link.pass(800);
    expect(link.heard()).toEqual(['05 stop']);
    await link.reply('05 ok');
    // No outcome comes any more: the deadline ends it.
    await link.pass(800);
    expect(link.heard()).toEqual([]);
    expect((await writing).map((o) => o.kind)).toEqual(['stopped', 'stopped']);
  });
});

describe('outcomes of blocks', () => {
  it('when a cell reads something else then cell, wanted and actual byte are those that the writer tells', async () => {
    const { link, writer } = await withChip();
    const told: [number, string][] = [];
    const writing = writer.writeBlocks(blocks(2), { onDone: (index, { kind }) => told.push([index, kind]) });
    await link.reply('03 ok', '02 no C 2A 6F 2F');
    expect(await writing).toEqual([
      { kind: 'mismatch', address: 0x2a, wanted: 0x6f, actual: 0x2f },
      { kind: 'written' },
    ]);
    expect(told).toEqual([
      [1, 'written'],
      [0, 'mismatch'],
    ]);
  });

  it('when a mismatch does not say what differs then the refusal is told as it stands', async () => {
    for (const fields of ['', ' 2A', ' 2A 6F', ' 2A zz 2F']) {
      const { link, writer } = await withChip();
      const writing = failure(writer.writeBlocks(blocks(1)));
      await link.reply(`02 no C${fields}`);
      expect((await writing).message).toBe(`The writer refused "write": mismatch (C${fields}).`);
    }
  });

  it('when a write cycle does not end then nothing more is sent, and blocks that were under way keep their outcome', async () => {
    const { link, writer } = await withChip();
    const told: number[] = [];
    const writing = writer.writeBlocks(blocks(20), { onDone: (index) => told.push(index) });
    link.heard();
    await link.reply('02 no B 3F');
    // 12 is the number of the block that was ready to go.
    expect(link.heard()).toEqual(['13 stop']);
    writer.stop();
    expect(link.heard()).toEqual([]);
    await link.reply('03 ok');
    for (let seq = 4; seq <= 0x11; seq++) await link.reply(`${hex(seq)} no F`);
    await link.reply('13 ok');
    const outcomes = await writing;
    expect(outcomes.slice(0, 3)).toEqual([
      { kind: 'never-ready', address: 0x3f },
      { kind: 'written' },
      { kind: 'stopped' },
    ]);
    expect(outcomes.slice(2).every((outcome) => outcome.kind === 'stopped')).toBe(true);
    // Each block is told once.
    expect(told).toEqual([...Array(20).keys()]);
    expect(link.heard()).toEqual([]);
  });

  it('when the refusal of a cycle names no cell then it is the block', async () => {
    const { link, writer } = await withChip();
    const writing = writer.writeBlocks(blocks(2));
    await link.reply('03 no B');
    await link.reply('02 ok', '04 ok');
    expect((await writing)[1]).toEqual({ kind: 'never-ready', address: 64 });
  });

  it('when lines come that answer no block then they change nothing', async () => {
    const { link, writer } = await withChip();
    const writing = writer.writeBlocks(blocks(2));
    link.heard();
    await link.reply('70 ok', '02 data 0 AA==', '70 no 7');
    expect(link.heard()).toEqual([]);
    await link.reply('02 ok', '02 ok', '03 ok');
    expect((await writing).map((o) => o.kind)).toEqual(['written', 'written']);
  });

  it('when the writer is busy with something else then the block waits for the next answer', async () => {
    const { link, writer } = await withChip();
    const writing = writer.writeBlocks(blocks(2));
    link.heard();
    await link.reply('03 no 9');
    expect(link.heard()).toEqual([]);
    await link.reply('02 ok');
    expect(link.heard()).toEqual(['03 write 40 AQ==']);
    await link.reply('03 ok');
    expect((await writing).every((o) => o.kind === 'written')).toBe(true);
  });
});

describe('how long an answer to blocks is waited for', () => {
  it('when many lines are on their way then the deadline has their transfer', async () => {
    const { link, writer } = await withChip();
    const full = Array.from({ length: 16 }, (_, i) => ({ address: i * 64, bytes: new Uint8Array(64).fill(i) }));
    const writing = writer.writeBlocks(full);
    const characters = link.sent.slice(-16).join('').length;
    link.heard();
    // Silence 500 ms, 100 ms for adapters, and 10 bits a character.
    link.present = 0x77;
    await link.pass(600 + (characters * 10_000) / 115_200);
    expect(link.heard()).toEqual([]);
    await link.pass(20);
    expect(link.heard()).toHaveLength(16);
    for (let seq = 2; seq <= 0x11; seq++) await link.reply(`${hex(seq)} ok`);
    await writing;
  });

  it('when each cell has a cycle of its own then the deadline has all of them', async () => {
    const { link, writer } = await withChip({ ...cellChoice, cycleUs: 10_000 });
    const writing = writer.writeBlocks([{ address: 0, bytes: new Uint8Array(64) }]);
    link.present = 0x77;
    link.heard();
    await link.pass(600 + 640);
    expect(link.heard()).toEqual([]);
    await link.pass(60);
    expect(link.heard()).toHaveLength(1);
    await link.reply('02 ok');
    await writing;
  });

  it('when blocks are never answered then each is said four times, and what the writer has in hand is ended', async () => {
    const { link, writer } = await withChip();
    link.present = 0x77;
    const writing = writer.writeBlocks(blocks(2));
    await link.pass(4 * 620);
    expect(link.heard().filter((line) => line.includes('write'))).toHaveLength(8);
    // Nothing is known of them: they go again under new numbers when the rest of the old work is ended.
    await link.replyInTurn('04 ok', '05 ok', '06 ok');
    expect(link.heard()).toEqual(['05 write 0 AA==', '06 write 40 AQ==']);
    expect((await writing).map((o) => o.kind)).toEqual(['written', 'written']);
    expect(writer.counts.resent).toBe(6);
  });

  it('when between two silences a block was answered then the writer is not given up', async () => {
    const { link, writer } = await withChip();
    const writing = writer.writeBlocks(blocks(3), { window: 1 });
    for (let block = 0; block < 3; block++) {
      await link.pass(2700);
      expect(link.heard().at(-1)).toBe('8F who');
      await link.answerSearch(0x77);
      const [stop] = link.heard();
      await link.reply(`${stop!.slice(0, 2)} ok`);
      const [line] = link.heard();
      await link.reply(`${line!.slice(0, 2)} ok`);
    }
    expect((await writing).map((o) => o.kind)).toEqual(['written', 'written', 'written']);
  });
});

describe('stopping a burn', () => {
  it('when stop is refused as unreadable then it goes again at once, and after that by its deadline', async () => {
    const { link, writer } = await withChip();
    const writing = writer.writeBlocks(blocks(2));
    writer.stop();
    link.heard();
    await link.reply('00 no 1');
    expect(link.heard()).toEqual(['05 stop']);
    await link.reply('00 no 1');
    expect(link.heard()).toEqual([]);
    expect(writer.counts.resent).toBe(1);
    await link.reply('02 ok', '03 no F', '05 ok');
    await link.reply('00 no 1');
    expect(link.heard()).toEqual([]);
    expect((await writing).map((o) => o.kind)).toEqual(['written', 'stopped']);
  });

  it('when it is stopped by signal then stop is said once; a signal after the end says nothing', async () => {
    const { link, writer } = await withChip();
    const abort = new AbortController();
    const writing = writer.writeBlocks(blocks(1), { signal: abort.signal });
    link.heard();
    abort.abort();
    writer.stop();
    expect(link.heard()).toEqual(['03 stop']);
    expect(writer.counts.resent).toBe(0);
    await link.reply('02 ok', '03 ok');
    await writing;
    const later = new AbortController();
    const again = writer.writeBlocks(blocks(1), { signal: later.signal });
    await link.reply('04 ok');
    await again;
    link.heard();
    later.abort();
    expect(link.heard()).toEqual([]);
  });

  it('when all blocks are answered before stop is then its answer is waited for, so that the next request is not mistaken', async () => {
    const { link, writer } = await withChip();
    let ended = false;
    const writing = writer.writeBlocks(blocks(1)).finally(() => {
      ended = true;
    });
    writer.stop();
    await link.reply('02 ok');
    expect(ended).toBe(false);
    await link.reply('03 ok');
    expect((await writing).map((o) => o.kind)).toEqual(['written']);
  });

  it('when the writer restarts while it is being stopped then no block goes again', async () => {
    const { link, writer } = await withChip();
    const writing = writer.writeBlocks(blocks(3));
    writer.stop();
    link.heard();
    await link.greet(0x78);
    await link.pass(0);
    await link.answerSearch(0x78);
    await link.reply('06 ok');
    expect((await writing).map((o) => o.kind)).toEqual(['stopped', 'stopped', 'stopped']);
    expect(link.heard().filter((line) => line.includes('write'))).toEqual([]);
  });

  it('when stop is never answered then the writer is looked for, and the burn ends as stopped', async () => {
    const { link, writer } = await withChip();
    const writing = writer.writeBlocks(blocks(1));
    writer.stop();
    await link.pass(620);
    for (let i = 0; i < 3; i++) {
      await link.answerSearch(0x77);
      await link.pass(620);
    }
    await link.answerSearch(0x77);
    expect(
      link
        .heard()
        .filter((line) => line !== '8F who')
        .map((line) => line.slice(3)),
    ).toEqual(['write 0 AA==', 'stop', 'stop', 'stop', 'stop', 'stop']);
    await link.reply('07 ok');
    expect((await writing).map((o) => o.kind)).toEqual(['stopped']);
  });
});

describe('numbers of blocks', () => {
  it('when a burn has ended, however it ended, then its numbers can be given again', async () => {
    const { link, writer } = await withChip();
    const failed = failure(writer.writeBlocks(blocks(20)));
    await link.reply('02 no 7');
    await failed;
    link.heard();
    const given = new Set<string>();
    for (let request = 0; request < 255; request++) {
      const parked = writer.park();
      const seq = link.heard()[0]!.slice(0, 2);
      given.add(seq);
      await link.reply(`${seq} ok`);
      await parked;
    }
    // All but that of the search line.
    expect(given.size).toBe(254);
  });

  it('when a block stays unanswered then its number is not given to another', async () => {
    const { link, writer } = await withChip({ ...pageChoice, cells: 0x8000 });
    const writing = writer.writeBlocks(blocks(300), { window: 2 });
    const given = new Set<string>();
    // The first is answered last; all others one by one.
    for (let count = 0; count < 299; count++) {
      const lines = link.heard().filter((line) => !line.startsWith('02 write 0 '));
      expect(lines).toHaveLength(1);
      given.add(lines[0]!.slice(0, 2));
      await link.reply(`${lines[0]!.slice(0, 2)} ok`);
    }
    expect(given.has('02')).toBe(false);
    await link.reply('02 ok');
    expect((await writing).every((o) => o.kind === 'written')).toBe(true);
  });
});
