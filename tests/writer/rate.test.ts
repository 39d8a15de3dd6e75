// The rate of the line, step by step: asked for, changed, tried, and given up.
import { describe, expect, it } from 'vitest';
import { bytesOfBase64 } from '../../src/ground/byte-text.js';
import { ToolError } from '../../src/ground/errors.js';
import type { RateMemory } from '../../src/writer/writer.js';
import { answerEchoes, atRate, failure, greeted } from './on-scripted-link.js';

describe('changing the rate', () => {
  it('when the writer agrees then the port follows, and four full echoes of unlike bytes prove the rate', async () => {
    const { link, writer } = await greeted();
    const changing = writer.setRate(500_000);
    expect(link.heard()).toEqual(['01 rate 7A120']);
    await link.reply('01 ok');
    expect(link.ratesSet).toEqual([500_000]);
    // Both ends get a moment to switch.
    await link.pass(4);
    expect(link.said).toEqual([]);
    await link.pass(1);
    const echoes = (await answerEchoes(link)).map((text) => [...bytesOfBase64(text)!]);
    await changing;
    expect(writer.baud).toBe(500_000);
    expect(echoes.map((bytes) => bytes.length)).toEqual([0x30, 0x30, 0x30, 0x30]);
    expect(new Set(echoes.map(String)).size).toBe(4);
    // The longest stretches without an edge, the most edges, and a good mixture.
    for (const bytes of echoes) expect(bytes).toEqual(expect.arrayContaining([0x00, 0xff, 0x55, 0xaa]));
    expect(new Set(echoes.flat()).size).toBeGreaterThan(30);
    // Neither end is asked for what stands already.
    await writer.setRate(500_000);
    expect(link.heard()).toEqual([]);
    expect(link.ratesSet).toEqual([500_000]);
  });

  it('when the first echo falls into the switch then it is said again; a later one that is lost ends the trial', async () => {
    const { link, writer } = await greeted();
    const choosing = writer.chooseRate([500_000]);
    link.heard();
    await link.reply('01 ok');
    await link.pass(5 + 700);
    await link.answerSearch(0x77);
    const [first, , again] = link.heard();
    expect([first?.slice(0, 8), again?.slice(0, 8)]).toEqual(['02 echo ', '03 echo ']);
    await link.reply(again!.replace('echo', 'ok'));
    expect(link.heard()).toHaveLength(1);
    const begin = link.clock.now();
    // It spoke at this rate, and would stay there for 3 s: it is called back, and looked for at 115200.
    await link.pass(700);
    expect(link.ratesSet).toEqual([500_000, 115_200]);
    expect(link.heard()).toEqual(['05 rate 1C200', '8F who']);
    await link.answerSearch(0x77);
    expect(await choosing).toBe(115_200);
    expect(link.clock.now() - begin).toBeLessThan(1000);
  });

  it('when the writer is not found again after a trial then it is lost, in bounded time', async () => {
    const { link, writer } = await greeted();
    const lost = failure(writer.chooseRate([500_000]));
    await link.reply('01 ok');
    await link.pass(30_000);
    expect(await lost).toMatchObject({ code: 'writer.lost', message: expect.stringContaining('rate') });
    // Two echoes, the search after the trial, and one more search.
    expect(writer.counts.sent).toBeLessThan(60);
  });

  it('when nothing answers to rate then both ends meet again and the rate is given up', async () => {
    const { link, writer } = await greeted();
    const choosing = writer.chooseRate([500_000]);
    await link.pass(700);
    expect(link.heard()).toEqual(['01 rate 7A120', '8F who']);
    await link.answerSearch(0x77);
    expect(await choosing).toBe(115_200);
    expect(link.ratesSet).toEqual([]);
  });

  it('when nothing answers to rate, and nobody to who, then the writer is lost', async () => {
    const { link, writer } = await greeted();
    const lost = failure(writer.chooseRate([500_000, 250_000]));
    await link.pass(30_000);
    expect(await lost).toMatchObject({ code: 'writer.lost' });
    expect(link.heard().filter((line) => line.includes('rate'))).toEqual(['01 rate 7A120']);
    // The port runs at the greeting rate already: setting it anew could lose what is on its way.
    expect(link.ratesSet).toEqual([]);
  });

  it('when the port cannot make the rate then the next one is tried once both ends are back', async () => {
    const { link, writer } = await greeted();
    link.setting = async (baud) => {
      if (baud === 1_000_000) throw new ToolError('link.rate', { path: link.path, baud });
    };
    const choosing = writer.chooseRate();
    await link.reply('01 ok');
    await link.pass(250);
    expect(link.heard()).toEqual(['01 rate F4240', '8F who']);
    await link.answerSearch(0x77);
    expect(link.heard()).toEqual(['02 rate 7A120']);
    await link.reply('02 ok');
    await link.pass(5);
    await answerEchoes(link);
    expect(await choosing).toBe(500_000);
  });

  it('when the port is lost then that is told at every step, and not taken for a rate that does not work', async () => {
    for (const step of ['asked', 'set', 'tried', 'given up'] as const) {
      const { link, writer } = await greeted();
      if (step === 'set')
        link.setting = async () => {
          throw new ToolError('link.gone', { path: link.path });
        };
      const lost = failure(writer.chooseRate());
      if (step === 'asked') await link.lose();
      await link.reply('01 ok');
      await link.pass(5);
      if (step === 'tried') await link.lose();
      if (step === 'given up') {
        link.setting = () => link.lose();
        await link.pass(2400);
      }
      expect(await lost).toMatchObject({ code: 'link.gone' });
      link.heard();
      await link.pass(1000);
      expect(link.heard()).toEqual([]);
    }
  });

  it('when the writer refuses otherwise than as a rate it cannot make then the refusal is told', async () => {
    const { link, writer } = await greeted();
    const refused = failure(writer.chooseRate());
    await link.reply('01 no 4 1');
    expect((await refused).message).toContain('bad-field');
    const tooOld = failure(writer.chooseRate());
    await link.reply('02 no 3');
    expect(await tooOld).toMatchObject({ code: 'writer.too-old' });
    // Nor is a refused echo a rate that does not work.
    const noEcho = failure(writer.chooseRate());
    await link.reply('03 ok');
    await link.pass(5);
    await link.reply('04 no 3');
    expect((await noEcho).message).toContain('"echo"');
  });

  it('when a rate does not work then setRate tries once more, and tells the rates that the writer offers', async () => {
    const { link, writer } = await greeted();
    const failed = failure(writer.setRate(57_600));
    await link.replyInTurn('01 no 10', '02 no 10');
    expect(link.heard()).toEqual(['01 rate E100', '02 rate E100']);
    const { message, note } = await failed;
    expect(message).toBe('57600 baud does not work with the writer on scripted.');
    expect(note).toContain('115200, 250000, 500000, 1000000');
    expect(writer.baud).toBe(115_200);
  });
});

describe('a rate at which lines are lost', () => {
  /** A writer whose rate was chosen, at 500 000 baud; the next request has number 06. */
  async function chosen() {
    const on = await greeted();
    const kept: number[] = [];
    const choosing = on.writer.chooseRate([500_000], { recall: () => null, remember: (baud) => void kept.push(baud) });
    on.link.heard();
    await on.link.reply('01 ok');
    await on.link.pass(5);
    await answerEchoes(on.link);
    await choosing;
    return { ...on, kept };
  }

  it('when lines in a row are damaged then the job goes on at the next lower one, that is told once, and remembered', async () => {
    const { link, writer, events, kept } = await chosen();
    const asked = writer.registers();
    for (let i = 0; i < 5; i++) await link.replyRaw('spoilt');
    expect(link.heard()).toEqual(['06 registers', '07 stop']);
    await link.pass(30);
    expect(link.heard()).toEqual(['8F who']);
    await link.answerSearch(0x77);
    await link.replyInTurn('08 ok', '09 ok');
    expect(link.heard()).toEqual(['08 stop', '09 rate 3D090']);
    await link.pass(5);
    await answerEchoes(link, 4);
    await link.reply('0E ok 2');
    expect(await asked).toBe(2);
    expect(events).toEqual([{ kind: 'rate-left', from: 500_000, baud: 250_000 }]);
    expect(kept).toEqual([500_000, 250_000]);
  });

  it('when the rate was asked for by name then it is kept', async () => {
    const { link, writer } = await atRate(500_000);
    const asked = writer.registers();
    for (let i = 0; i < 20; i++) await link.replyRaw('spoilt');
    await link.reply('06 ok 2');
    expect(await asked).toBe(2);
    expect(writer.baud).toBe(500_000);
  });

  it('when damage comes now and then then the rate is kept', async () => {
    const { link, writer, events } = await chosen();
    for (let seq = 6; seq < 60; seq++) {
      const asked = writer.registers();
      if (seq % 4 === 0) await link.replyRaw('spoilt');
      await link.reply(`${seq.toString(16).toUpperCase().padStart(2, '0')} ok 2`);
      await asked;
    }
    expect(events).toEqual([]);
    expect(writer.baud).toBe(500_000);
  });
});

describe('choosing the rate', () => {
  const memory = (known: number | null): RateMemory & { kept: number[] } => {
    const kept: number[] = [];
    return { kept, recall: () => known, remember: (baud) => void kept.push(baud) };
  };
  /** Refuses every rate but one, and tells which were asked for. */
  async function offered(works: number, preferred?: readonly number[], remembered?: RateMemory | null) {
    const { link, writer } = await greeted();
    const choosing = writer.chooseRate(preferred, remembered);
    const asked: number[] = [];
    for (let lines = link.heard(); lines.length > 0; lines = link.heard()) {
      const [seq, , baud] = lines[0]!.split(' ');
      asked.push(Number.parseInt(baud!, 16));
      await link.reply(asked.at(-1) === works ? `${seq} ok` : `${seq} no 10`);
      await link.pass(5);
      if (asked.at(-1) === works) await answerEchoes(link);
    }
    return { asked, stands: await choosing };
  }

  it('when nothing is known then the fastest comes first, and rates that the writer does not offer are not asked for', async () => {
    expect(await offered(250_000, [2_000_000, 1_000_000, 500_000, 250_000])).toEqual({
      asked: [1_000_000, 500_000, 250_000],
      stands: 250_000,
    });
  });

  it('when one is remembered then it comes first, is not asked for twice, and what works is remembered', async () => {
    const known = memory(500_000);
    expect(await offered(250_000, [1_000_000, 500_000, 250_000], known)).toEqual({
      asked: [500_000, 1_000_000, 250_000],
      stands: 250_000,
    });
    expect(known.kept).toEqual([250_000]);
  });

  it('when none works then the line stays at 115200 and nothing is remembered', async () => {
    const known = memory(null);
    expect((await offered(0, [1_000_000], known)).stands).toBe(115_200);
    expect(known.kept).toEqual([]);
  });
});

describe('closing', () => {
  it('when the line runs fast then the writer is parked and brought back to 115200 before the port is closed', async () => {
    const { link, writer } = await atRate(500_000);
    const closing = writer.close();
    await link.reply('06 ok');
    expect(link.isOpen).toBe(true);
    await link.reply('07 ok');
    await closing;
    expect(link.heard()).toEqual(['06 stop', '07 rate 1C200']);
    expect(link.isOpen).toBe(false);
    await writer.close();
    expect(link.said).toEqual([]);
  });
});
