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
    expect(link.sent).toEqual(['\n01 identify E126\n', expect.stringMatching(/^\n02 identify ....\n$/)]);
    await link.greet(0x77, 2);
    await link.reply('03 ok');
    // Questions that nobody heard are no repeats of a damaged line.
    expect((await opening).counts).toMatchObject({ sent: 3, resent: 0, restarts: 0 });
  });

  it('when it was found by asking then what a host before had it do is ended; when it greeted then there is nothing to end', async () => {
    const { link, opening } = searching();
    await link.pass(300);
    await link.greet(0x77, 1);
    expect(link.heard()).toEqual(['01 identify', '02 stop']);
    await link.reply('02 ok');
    await opening;
    expect((await greeted()).link.said).toEqual([]);
  });

  it('when it is busy for another host then it is stopped and asked again at once', async () => {
    const { link, opening } = searching();
    await link.pass(300);
    await link.reply('01 no 9');
    expect(link.heard()).toEqual(['01 identify', '02 stop', '03 identify']);
    // The same refusal once more, and the answer to the stop, are nothing new.
    await link.reply('01 no 9', '02 ok');
    expect(link.heard()).toEqual([]);
    await link.greet(0x77, 3);
    await link.reply('04 ok');
    expect((await opening).counts.resent).toBe(0);
  });

  it('when it refuses otherwise, or somebody else is answered, then the search goes on as before', async () => {
    const { link, opening } = searching();
    await link.pass(300);
    await link.reply('01 no 4 1', '00 no 1', '40 no 9');
    await link.greet(0x77, 0x40);
    expect(link.heard()).toEqual(['01 identify']);
    await link.pass(250);
    expect(link.heard()).toEqual(['02 identify']);
    await link.greet(0x77, 2);
    await link.reply('03 ok');
    await opening;
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
