// Everything that can go wrong around the mock writer goes wrong where it was put, once, and the same way every time.
import { describe, expect, test } from 'vitest';
import { seededRandom } from '../../src/ground/random.js';
import { chip28c256, converse, converseWith } from './conversation.js';
import { drawMishaps, type Mishap } from './mishap.js';
import { mockWriter } from './mock-writer.js';

/** A conversation with these mishaps, past the greeting; the greeting's bytes to the host come first. */
async function spoiled(mishaps: readonly Mishap[]) {
  const talk = await converse();
  await talk.wait(100);
  const { toHost } = talk.mock.counts();
  talk.mock.setMishaps(
    mishaps.map((mishap) =>
      'way' in mishap && mishap.way === 'to-host' ? { ...mishap, at: mishap.at + toHost } : mishap,
    ),
  );
  return talk;
}

describe('on the wire', () => {
  test('when a byte on its way to the writer is lost, flipped or doubled then the line is refused, and the next is not', async () => {
    const mishaps: Mishap[] = [
      { kind: 'lost', way: 'to-writer', at: 5, count: 2 },
      { kind: 'flipped', way: 'to-writer', at: 5, bit: 3 },
      { kind: 'doubled', way: 'to-writer', at: 5 },
      { kind: 'noise', way: 'to-writer', at: 5, bytes: [0xff, 0x00] },
    ];
    for (const mishap of mishaps) {
      const { ask } = await spoiled([mishap]);
      expect(await ask('01 echo Zm9v')).toEqual(['00 no 1']);
      expect(await ask('02 echo Zm9v')).toEqual(['02 ok Zm9v']);
    }
  });

  test('when a byte on its way to the host is flipped then the host hears it flipped', async () => {
    const { say } = await spoiled([{ kind: 'flipped', way: 'to-host', at: 6, bit: 0 }]);
    const [line] = await say(['02 echo Zm9vYmFy D829']);
    expect(line).toBe('02 ok [m9vYmFy FCDC');
  });

  test('when the LF is lost then the line comes with the next one', async () => {
    const { say } = await spoiled([{ kind: 'lost', way: 'to-writer', at: 11, count: 1 }]);
    expect(await say(['01 who F23F'])).toEqual([]);
    expect(await say(['02 echo Zm9vYmFy D829'])).toEqual(['00 no 1 E33D']);
  });

  test('when bytes are late then the line is whole, later', async () => {
    const { say, link } = await spoiled([{ kind: 'late', way: 'to-writer', at: 4, ms: 300 }]);
    const startMs = link.clock.now();
    expect(await say(['02 echo Zm9vYmFy D829'], 290)).toEqual([]);
    expect(await say([], 100)).toEqual(['02 ok Zm9vYmFy FCDC']);
    expect(link.clock.now() - startMs).toBeCloseTo(390);
  });

  test('when the cable is pulled then the host is told, nothing travels, and the port opens again', async () => {
    const { mock, link, say, ended } = await spoiled([{ kind: 'unplugged', way: 'to-writer', at: 7 }]);
    expect(await say(['02 echo Zm9vYmFy D829'])).toEqual([]);
    expect(ended()).toMatchObject({ code: 'link.gone' });
    await expect(link.send('\n')).rejects.toMatchObject({ code: 'link.gone' });
    const again = await converseWith(mock);
    expect(await again.wait(100)).toHaveLength(1);
    expect(await again.ask('01 echo Zm9v')).toEqual(['01 ok Zm9v']);
  });

  test('when the rates of both ends differ then neither understands the other', async () => {
    const { link, ask } = await spoiled([]);
    await link.setRate(9600);
    expect(await ask('01 echo Zm9v')).not.toContain('01 ok Zm9v');
    await link.setRate(115200);
    await link.send('\n');
    expect(await ask('01 echo Zm9v')).toContain('01 ok Zm9v');
  });
});

describe('in the writer', () => {
  test('when it resets on a line then it greets anew with another nonce and knows no chip', async () => {
    const { mock, ask } = await spoiled([{ kind: 'resets', line: 2 }]);
    const nonce = mock.firmware.nonce;
    expect(await ask('01 chip 8000 40 2710 96 2 1')).toEqual(['01 ok']);
    const [greeting, ...rest] = await ask('02 read 0 1');
    expect(greeting).toMatch(/^00 writer /);
    expect(rest).toEqual([]);
    expect(mock.firmware.nonce).not.toBe(nonce);
    expect(await ask('03 read 0 1')).toEqual(['03 no 5']);
  });

  test('when it hangs then nothing more comes until it is reset', async () => {
    const { mock, ask, wait } = await spoiled([{ kind: 'hangs', line: 1 }]);
    expect(await ask('01 echo Zm9v')).toEqual([]);
    expect(await ask('02 echo Zm9v', 5000)).toEqual([]);
    mock.reset();
    expect((await wait(100))[0]).toMatch(/^00 writer /);
  });

  test('when an answer is slow then it comes later, and the ones behind it too', async () => {
    const { ask } = await spoiled([{ kind: 'slow', line: 1, ms: 700 }]);
    expect(await ask('01 echo Zm9v')).toEqual([]);
    expect(await ask('02 echo Zm9v')).toEqual([]);
    expect(await ask('03 echo Zm9v', 700)).toEqual(['01 ok Zm9v', '02 ok Zm9v', '03 ok Zm9v']);
  });

  test('when a line is heard twice then it is answered twice, but a block only once', async () => {
    const { mock, ask } = await spoiled([
      { kind: 'repeated', line: 1 },
      { kind: 'repeated', line: 3 },
    ]);
    expect(await ask('01 echo Zm9v')).toEqual(['01 ok Zm9v', '01 ok Zm9v']);
    await ask('02 chip 8000 40 2710 96 2 1');
    expect(await ask('03 write 0 Zm9v')).toEqual(['03 ok']);
    expect(mock.chip.cycleCount).toBe(1);
  });

  test('when the supply fails in a write cycle then the page holds anything, nothing else changed, and the writer restarts', async () => {
    const { mock, ask } = await spoiled([{ kind: 'browns-out', cycle: 2 }]);
    await ask('01 chip 8000 40 2710 96 2 1');
    expect(await ask('02 write 0 Zm9v')).toEqual(['02 ok']);
    const answers = await ask('03 write 40 Zm9v');
    expect(answers).toHaveLength(1);
    expect(answers[0]).toMatch(/^00 writer /);
    expect([...mock.chip.cells.subarray(0, 3)]).toEqual([102, 111, 111]);
    expect(mock.chip.cells.subarray(0x43).every((byte) => byte === 0xff)).toBe(true);
  });

  test('when it speaks an older version or lacks a word then it says so', async () => {
    const { ask } = await converse({ limits: { version: 0 }, lacks: ['sum'] });
    expect((await ask('01 who'))[0]).toMatch(/^00 writer version=0 /);
    expect(await ask('02 sum 0 40 40')).toEqual(['02 no 3']);
  });
});

describe('the same again', () => {
  const size = { bytesToWriter: 600, bytesToHost: 900, lines: 20, cycles: 8 };

  async function run(seed: number) {
    const mishaps = drawMishaps(seededRandom(seed), 6, size);
    const mock = mockWriter({ chip: chip28c256, seed, mishaps, answerDelayMs: [0, 16] });
    const talk = await converseWith(mock);
    const story: unknown[] = [mishaps, await talk.wait(60)];
    for (let i = 1; i <= 20 && talk.ended() === undefined; i++) {
      const text = i === 1 ? '01 chip 8000 40 2710 96 2 1' : `${String(i).padStart(2, '0')} write ${i * 4}0 Zm9v`;
      story.push(await talk.ask(text, 40).catch((error: unknown) => [String(error)]), mock.clock.now());
    }
    return { story, cells: Buffer.from(mock.chip.cells).toString('base64'), counts: mock.counts() };
  }

  test('when a seed is run twice then everything is the same, and another seed is another story', async () => {
    for (const seed of [1, 2, 3, 4, 5, 6, 7, 8]) expect(await run(seed)).toEqual(await run(seed));
    expect((await run(1)).story).not.toEqual((await run(2)).story);
  });

  test('when time is not waited for then it stands still', async () => {
    const { mock, link } = await converse();
    await new Promise((resolve) => setImmediate(resolve));
    expect(mock.clock.now()).toBe(0);
    await link.send('\n');
    expect(mock.clock.now()).toBe(0);
  });
});
