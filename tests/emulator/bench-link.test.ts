// The bench through the same Link as a real port: rates, delay, time that does not depend on the machine, mishaps.
import { Worker } from 'node:worker_threads';
import { expect, test } from 'vitest';
import { openBenchLink } from '../../src/emulator/bench-link.js';
import type { EmulatedBench } from '../../src/emulator/emulated-bench.js';
import { pause } from '../../src/ground/clock.js';
import type { Link } from '../../src/link/link.js';
import * as avr from './avr-program.js';
import { io8 } from './avr-program.js';
import { benchRunning } from './small-bench.js';

/** Sends back every byte it hears, at 1 Mbaud. */
const echo = avr.withReceiveInterrupt(
  [...avr.serialAt1M(0x80), ...avr.set(io8.SMCR, 0x01), ...avr.sei, ...avr.sleep, ...avr.rjmp(-2)],
  [...avr.lds(20, avr.UDR0), ...avr.sts(avr.UDR0, 20), ...avr.reti],
);

const options = { baud: 1_000_000, lineMax: 400 };

/** Resolves with the next line, or with what happened instead. */
const nextEvent = (link: Link, limitMs: number): Promise<string> =>
  new Promise((resolve) => {
    const cancel = link.clock.after(limitMs, () => resolve('nothing'));
    const told = (text: string) => {
      cancel();
      resolve(text);
    };
    link.listen({ line: told, overlong: () => told('overlong'), closed: (reason) => told(reason ? 'gone' : 'closed') });
  });

async function exchange(link: Link, text: string, limitMs = 50): Promise<string> {
  const answer = nextEvent(link, limitMs);
  await link.send(`${text}\n`);
  return answer;
}

/** Some exchanges, one after the other; the cycle at which each answer came. */
async function conversation(bench: EmulatedBench, count: number): Promise<number[]> {
  const link = await openBenchLink(bench, options);
  await pause(link.clock, 5);
  const cycles: number[] = [];
  for (let i = 0; i < count; i++) {
    expect(await exchange(link, `line ${i}`)).toBe(`line ${i}`);
    cycles.push(bench.cycles);
  }
  await link.close();
  return cycles;
}

test('when a line is sent, then it comes back through the emulated writer', async () => {
  await conversation(benchRunning(echo), 3);
});

test('when the same conversation runs on an idle and on a loaded machine, then it takes the same cycles', async () => {
  const idle = await conversation(benchRunning(echo), 60);
  const spin = 'for (;;) {}';
  const load = Array.from({ length: 4 }, () => new Worker(spin, { eval: true }));
  const loaded = await conversation(benchRunning(echo), 60);
  await Promise.all(load.map((w) => w.terminate()));
  expect(loaded).toEqual(idle);
});

test('when the adapter holds answers back, then each comes exactly so much later', async () => {
  const prompt = await conversation(benchRunning(echo), 1);
  const late = await conversation(benchRunning(echo, { answerDelayMs: 16 }), 1);
  expect(late[0]! - prompt[0]!).toBeGreaterThanOrEqual(16 * 16_000 - 4);
  expect(late[0]! - prompt[0]!).toBeLessThanOrEqual(16 * 16_000 + 4);
});

test('when the host computes for long, then no time passes on the bench', async () => {
  const bench = benchRunning(echo);
  const link = await openBenchLink(bench, options);
  const before = bench.cycles;
  for (let i = 0; i < 50; i++) await new Promise((resolve) => setImmediate(resolve));
  expect(bench.cycles).toBe(before);
  await link.close();
});

test('when the host talks at another rate than the writer, then what comes back is garbage', async () => {
  const bench = benchRunning(echo);
  const link = await openBenchLink(bench, { ...options, baud: 500_000 });
  await pause(link.clock, 5);
  expect(await exchange(link, 'hello')).not.toBe('hello');
  await link.setRate(1_000_000);
  // The garbage in front of the line end is dropped with an empty line.
  await link.send('\n');
  await pause(link.clock, 5);
  expect(await exchange(link, 'hello')).toBe('hello');
  await link.close();
});

test('when opening does not reset the writer, then it is already running', async () => {
  const greet = [...avr.serialAt1M(), ...avr.store(avr.UDR0, 0x68), ...avr.store(avr.UDR0, 0x0a), ...avr.halt];
  const told = async (resetOnOpen: boolean) => {
    const { state } = benchRunning(greet);
    const { EmulatedBench } = await import('../../src/emulator/emulated-bench.js');
    const bench = new EmulatedBench({ state, firmware: avr.hexOfWords(greet), resetOnOpen });
    const link = await openBenchLink(bench, options);
    const event = await nextEvent(link, 20);
    await link.close();
    return event;
  };
  expect([await told(true), await told(false)]).toEqual(['h', 'nothing']);
});

test('when a port is open, then a second opening says that it is busy, and after closing it opens again', async () => {
  const bench = benchRunning(echo);
  const link = await openBenchLink(bench, options);
  await expect(openBenchLink(bench, options)).rejects.toMatchObject({ code: 'link.busy' });
  await link.close();
  const again = await openBenchLink(bench, options);
  await pause(again.clock, 5);
  expect(await exchange(again, 'again')).toBe('again');
  await again.close();
});

test('when the cable is pulled, then the link is gone, and opening fails until it is plugged in', async () => {
  const bench = benchRunning(echo);
  const link = await openBenchLink(bench, options);
  await pause(link.clock, 5);
  bench.arrange([{ kind: 'unplugged', at: { byteToHost: 3 } }]);
  expect(await exchange(link, 'hello')).toBe('gone');
  await expect(openBenchLink(bench, options)).rejects.toMatchObject({ code: 'link.missing' });
  bench.liftMishaps();
  const again = await openBenchLink(bench, options);
  await pause(again.clock, 5);
  expect(await exchange(again, 'hello')).toBe('hello');
  await again.close();
});

test.each([
  ['lost', { kind: 'byte-lost', at: { byteToWriter: 2 } }, 'hllo'],
  ['doubled', { kind: 'byte-doubled', at: { byteToHost: 2 } }, 'heello'],
  ['flipped', { kind: 'bit-flipped', at: { byteToWriter: 1 }, bit: 0 }, 'iello'],
] as const)('when a byte is %s on the line, then that byte alone is', async (_name, mishap, wanted) => {
  const bench = benchRunning(echo);
  const link = await openBenchLink(bench, options);
  await pause(link.clock, 5);
  bench.arrange([mishap]);
  expect(await exchange(link, 'hello')).toBe(wanted);
  expect(await exchange(link, 'hello')).toBe('hello');
  await link.close();
});

test('when the writer hangs, then nothing comes until it is reset', async () => {
  const bench = benchRunning(echo);
  const link = await openBenchLink(bench, options);
  await pause(link.clock, 5);
  bench.arrange([{ kind: 'writer-hang', at: { cycle: bench.cycles + 10 } }]);
  await pause(link.clock, 1);
  expect(await exchange(link, 'hello')).toBe('nothing');
  bench.liftMishaps();
  await pause(link.clock, 5);
  expect(await exchange(link, 'hello')).toBe('hello');
  await link.close();
});
