// The committed firmware on the bench, line by line: it breaks no rule of the strict chip and does what it says.
import { Worker } from 'node:worker_threads';
import { describe, expect, test } from 'vitest';
import { readBenchState, saveBenchState } from '../../src/emulator/bench-file.js';
import { applyFault } from '../../src/emulator/bench-state.js';
import { base64OfBytes, hex } from '../../src/ground/byte-text.js';
import { seededRandom } from '../../src/ground/random.js';
import { filesInMemory } from './files-in-memory.js';
import { benchOf, type FirmwareTalk, firmwareBench, goFast, talkTo } from './firmware-talk.js';

const random = (count: number, seed = 3) => seededRandom(seed).bytes(count);
const notOk = (answers: readonly (string | null)[]) => answers.filter((a) => a !== 'ok');

describe('when some pages are written to every kind of part', () => {
  test.each([
    ['AT28C256', 512, 64, 16],
    ['AT28C64B', 512, 64, 16],
    ['AT28C010', 512, 128, 8],
    ['AT28C040', 512, 256, 4],
    ['X28HC256', 512, 128, 8],
    ['CAT28C64B', 256, 32, 16],
    ['AT28C16', 64, 64, 16],
    ['CAT28C16A', 32, 32, 16],
    ['AT28C64', 64, 64, 16],
  ])('then %s holds them, reads back the same, and no rule is broken', async (part, count, block, slots) => {
    const bench = firmwareBench(part, { seed: 5, contents: random(0x100, 9) });
    const talk = await talkTo(bench);
    await goFast(talk);
    const from = bench.state.part.cells - 1024;
    const bytes = random(count);
    expect(notOk(await talk.write(from, bytes, block, slots))).toEqual([]);
    expect(bench.truth.subarray(from, from + count)).toEqual(bytes);
    expect(bench.truth.subarray(0, 0x100)).toEqual(random(0x100, 9));
    expect(bench.state.wear.every((w) => w <= 1)).toBe(true);
    expect(await talk.ask('presence 0')).toBe('ok 0');
    expect(await talk.ask('registers')).toBe(`ok ${bench.state.registers}`);
    await talk.link.close();
    expect(bench.violations).toEqual([]);
  });
});

/** Sends all blocks of 64 without waiting for an answer. */
async function sendAll(talk: FirmwareTalk, bytes: Uint8Array): Promise<void> {
  for (let at = 0; at < bytes.length; at += 64) {
    await talk.send(`write ${hex(at, 1)} ${base64OfBytes(bytes.subarray(at, at + 64))}`);
  }
}

async function job(talk: FirmwareTalk): Promise<void> {
  await goFast(talk);
  await talk.write(0, random(1024), 64, 16);
  await talk.send('sum 0 400 40');
  while (!(await talk.line())?.includes(' ok ')) {}
}

test('when the same job runs on an idle and on a loaded machine, then it takes the same cycles', async () => {
  const cyclesOf = async () => {
    const bench = firmwareBench('AT28C256', { answerDelayMs: 3 });
    const talk = await talkTo(bench);
    await job(talk);
    await talk.link.close();
    return bench.cycles;
  };
  const idle = await cyclesOf();
  const load = Array.from({ length: 4 }, () => new Worker('for (;;) {}', { eval: true }));
  const loaded = await cyclesOf();
  await Promise.all(load.map((w) => w.terminate()));
  expect(loaded).toBe(idle);
});

test('when the chip is protected, then the write is found out, and unprotect helps', async () => {
  const bench = benchOf(applyFault(firmwareBench('AT28C64B').state, 'protected'));
  const talk = await talkTo(bench);
  expect((await talk.write(0, Uint8Array.of(0x12), 1, 1))[0]).toMatch(/^no C 0 12 FF/);
  expect(await talk.ask('unprotect')).toBe('ok');
  expect(await talk.write(0, Uint8Array.of(0x12), 1, 1)).toEqual(['ok']);
  expect(await talk.ask('protect')).toBe('ok');
  await talk.link.close();
  expect([bench.truth[0], bench.state.protectionOn, bench.violations]).toEqual([0x12, true, []]);
});

test.each([
  ['absent', 'presence 0', /^no A FF/],
  ['D5 open', 'presence 0', /^ok 20/],
  ['never ready', 'write 0 AA==', /^no B 0/],
  ['weak 0x0', 'write 0 /w==', /^(ok|no C 0 FF )/],
  ['dead page 0x0', 'write 0 AA==', /^no C 0 0 FF|^no C 0 00 FF/],
  ['D0 stuck 0', 'write 0 AQ==', /^no C 0 0?1 0?0/],
])('when the bench has the fault %s, then %s is answered %s', async (fault, request, answer) => {
  const bench = benchOf(applyFault(firmwareBench('AT28C64B').state, fault));
  const talk = await talkTo(bench);
  expect(await talk.ask(request, 2000)).toMatch(answer);
  await talk.link.close();
  expect(bench.violations).toEqual([]);
});

test('when address lines are crossed, then the writer that wrote so sees nothing wrong, and the truth differs', async () => {
  const bench = benchOf(applyFault(firmwareBench('AT28C64B').state, 'A0 A3 crossed'));
  const talk = await talkTo(bench);
  expect(await talk.ask('write 1 Eg==')).toBe('ok');
  await talk.link.close();
  expect([bench.truth[1], bench.truth[8]]).toEqual([0xff, 0x12]);
});

test('when power is cut in the third write cycle, then two pages are whole, the third is anything, and the writer starts anew', async () => {
  const bench = firmwareBench('AT28C64B', { contents: new Uint8Array(1024) });
  bench.arrange([{ kind: 'power-cut', at: { writeCycle: 3, afterUs: 1000 }, offMs: 50 }]);
  const talk = await talkTo(bench);
  await goFast(talk);
  const bytes = random(512);
  await sendAll(talk, bytes);
  expect([await talk.line(100), await talk.line(100)].map((l) => l?.slice(3))).toEqual(['ok', 'ok']);
  await talk.link.setRate(115_200);
  let line: string | null = '';
  while (line !== null && !line.includes('writer ')) line = await talk.line(200);
  expect(line).toContain('00 writer ');
  await talk.link.close();
  expect(bench.truth.subarray(0, 128)).toEqual(bytes.subarray(0, 128));
  const third = bench.truth.subarray(128, 192);
  expect(third).not.toEqual(new Uint8Array(64));
  expect(third).not.toEqual(bytes.subarray(128, 192));
  expect(bench.truth.subarray(192, 512)).toEqual(new Uint8Array(320));
  expect(bench.violations).toEqual([]);
});

test('when the writer is reset in the middle of blocks, then it greets with another nonce, and whole pages are in the chip', async () => {
  const bench = firmwareBench('AT28C64B');
  // Late enough that the first answer has left, early enough that the second page is still being written.
  bench.arrange([{ kind: 'writer-reset', at: { writeCycle: 2, afterUs: 5000 } }]);
  const talk = await talkTo(bench);
  const nonce = (greeting: string | null) => /nonce=([0-9A-F]+)/.exec(greeting ?? '')?.[1];
  const before = nonce(await talk.ask('who'));
  const bytes = random(512);
  await sendAll(talk, bytes);
  expect((await talk.line())?.slice(3)).toBe('ok');
  const after = nonce(await talk.line());
  expect(after).toBeDefined();
  expect(after).not.toBe(before);
  await talk.link.close();
  expect(bench.truth.subarray(0, 128)).toEqual(bytes.subarray(0, 128));
  expect(bench.violations).toEqual([]);
});

test('when the process is killed in a burn, then the bench file has every page that was answered', async () => {
  const files = filesInMemory();
  const bench = firmwareBench('AT28C64B', {}, { save: (state) => saveBenchState(files, 'b.json', state) });
  const talk = await talkTo(bench);
  await goFast(talk);
  const bytes = random(1024);
  let answered = 0;
  await sendAll(talk, bytes);
  // Nothing is closed and nothing tidied up: what the file holds now is all that a killed process leaves.
  while (answered < 5 && (await talk.line())?.slice(3) === 'ok') answered++;
  const left = readBenchState(files, 'b.json');
  expect(answered).toBe(5);
  expect(left.cells.subarray(0, 64 * 5)).toEqual(bytes.subarray(0, 64 * 5));
  expect(left.wear.subarray(0, 64 * 5).every((w) => w === 1)).toBe(true);
  await talk.link.close();
});

test('when the bench file cannot be saved, then the port is lost and the bench says why', async () => {
  const full = new Error('disk full');
  const save = (state: { wear: Uint32Array }) => {
    if (state.wear[0]! > 0) throw full;
  };
  const bench = firmwareBench('AT28C64B', {}, { save });
  const talk = await talkTo(bench);
  expect(await talk.ask('write 0 AA==')).toBeNull();
  expect([talk.gone, bench.saveError]).toEqual([true, full]);
});
