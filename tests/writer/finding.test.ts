// Who is there: the search of firmware-protocol.md section 2, line by line.
import { describe, expect, it } from 'vitest';
import { openWriter } from '../../src/writer/writer.js';
import { failure, greeted } from './on-scripted-link.js';
import { ScriptedLink } from './scripted-link.js';

function searching() {
  const link = new ScriptedLink();
  const opening = openWriter(link);
  opening.catch(() => {});
  return { link, opening };
}

describe('looking for the writer', () => {
  it('when a board does not greet then it is asked after 300 ms and every 250 ms, each time behind an empty line', async () => {
    const { link, opening } = searching();
    await link.pass(299);
    expect(link.said).toEqual([]);
    await link.pass(1 + 250);
    expect(link.sent).toEqual(['\n8F who 852F\n', '\n8F who 852F\n']);
    await link.answerSearch(0x77);
    await link.reply('01 ok');
    // Questions that nobody heard are no repeats of a damaged line.
    expect((await opening).counts).toMatchObject({ sent: 3, resent: 0, restarts: 0 });
  });

  it('when it was found by asking then what a host before had it do is ended; when it greeted then there is nothing to end', async () => {
    const { link, opening } = searching();
    await link.pass(300);
    await link.answerSearch(0x77);
    expect(link.heard()).toEqual(['8F who', '01 stop']);
    await link.reply('01 ok');
    await opening;
    expect((await greeted()).link.said).toEqual([]);
  });

  it('when it is busy for another host then it is stopped and asked again at once', async () => {
    const { link, opening } = searching();
    await link.pass(300);
    await link.reply('8F no 9');
    expect(link.heard()).toEqual(['8F who', '01 stop', '8F who']);
    await link.reply('01 ok');
    expect(link.heard()).toEqual([]);
    await link.answerSearch(0x77);
    await link.reply('02 ok');
    expect((await opening).counts.resent).toBe(0);
  });

  it('when it refuses otherwise, or somebody else is answered, then the search goes on as before', async () => {
    const { link, opening } = searching();
    await link.pass(300);
    await link.reply('8F no 4 1', '00 no 1', '40 no 9');
    await link.greet(0x77, 0x40);
    expect(link.heard()).toEqual(['8F who']);
    await link.pass(250);
    expect(link.heard()).toEqual(['8F who']);
    await link.answerSearch(0x77);
    await link.reply('01 ok');
    await opening;
  });

  it('when a writer does not know the search line then it is asked by its name of version 1, once, and named', async () => {
    const { link, opening } = searching();
    const older = failure(opening);
    await link.pass(300);
    await link.reply('8F no 3', '8F no 3');
    expect(link.heard()).toEqual(['8F who', '8F identify']);
    await link.reply('8F writer version=1 nonce=12 line=190 build=firmware-1.0.0');
    expect(await older).toMatchObject({
      code: 'writer.older',
      facts: { version: 1, wanted: 2, build: 'firmware-1.0.0' },
    });
    expect((await older).note).toContain('romkiln install');
  });

  it('when a writer is newer then that is said, and no firmware is offered', async () => {
    const { link, opening } = searching();
    const newer = failure(opening);
    await link.reply('00 writer version=3 nonce=12');
    expect(await newer).toMatchObject({ code: 'writer.newer', facts: { version: 3, wanted: 2 } });
    expect((await newer).note).toContain('a newer romkiln');
  });

  it('when nothing answers then that is said after 6 s, and the port is closed', async () => {
    const { link, opening } = searching();
    const silent = failure(opening);
    await link.pass(6300);
    expect(await silent).toMatchObject({ code: 'writer.silent' });
    expect((await silent).message).toContain('Nothing answers on scripted: 6 s');
    expect(link.isOpen).toBe(false);
    link.heard();
    await link.pass(1000);
    expect(link.heard()).toEqual([]);
  });

  it('when only noise comes then its lines are counted in the message', async () => {
    const { link, opening } = searching();
    const noise = failure(opening);
    for (const line of ['%$&', '', 'hello']) await link.replyRaw(line);
    await link.pass(6300);
    expect((await noise).message).toContain('3 lines');
  });

  it('when the port is lost during the search then that is told, and nothing more is sent', async () => {
    const { link, opening } = searching();
    const lost = failure(opening);
    await link.pass(300);
    await link.lose();
    expect(await lost).toMatchObject({ code: 'link.gone', message: expect.stringContaining('scripted') });
    link.heard();
    await link.pass(1000);
    expect(link.heard()).toEqual([]);
  });
});
