// The bench kept to real time, on a clock that the test moves.
import { expect, test } from 'vitest';
import { RealTimePump } from '../../src/emulator/real-time-pump.js';
import type { Clock } from '../../src/ground/clock.js';
import * as avr from './avr-program.js';
import { io8 } from './avr-program.js';
import { benchRunning } from './small-bench.js';

/** A clock that goes only when told. */
function handClock() {
  let now = 0;
  let timers: { due: number; callback: () => void }[] = [];
  const clock: Clock = {
    now: () => now,
    after(ms, callback) {
      const timer = { due: now + ms, callback };
      timers.push(timer);
      return () => {
        timers = timers.filter((t) => t !== timer);
      };
    },
  };
  const go = (ms: number) => {
    now += ms;
    const due = timers.filter((t) => t.due <= now);
    timers = timers.filter((t) => t.due > now);
    for (const t of due) t.callback();
  };
  return { clock, go, pending: () => timers.length };
}

const echo = avr.withReceiveInterrupt(
  [...avr.serialAt1M(0x80), ...avr.set(io8.SMCR, 0x01), ...avr.sei, ...avr.sleep, ...avr.rjmp(-2)],
  [...avr.lds(20, avr.UDR0), ...avr.sts(avr.UDR0, 20), ...avr.reti],
);

test('when real time passes, then the bench follows it, and takes the writer rate for the host rate', () => {
  const bench = benchRunning(echo);
  const { clock, go } = handClock();
  const heard: number[] = [];
  const pump = new RealTimePump(
    bench,
    clock,
    (bytes) => heard.push(...bytes),
    () => {},
  );
  pump.start();
  for (let i = 0; i < 10; i++) go(2);
  expect(Math.abs(bench.cycles - 20 * 16_000)).toBeLessThan(10);
  pump.received(Uint8Array.from(Buffer.from('hello\n')));
  for (let i = 0; i < 5; i++) go(2);
  expect(Buffer.from(heard).toString()).toBe('hello\n');
  pump.stop();
});

test('when the machine slept for long, then the bench does not run after it', () => {
  const bench = benchRunning(echo);
  const { clock, go, pending } = handClock();
  const pump = new RealTimePump(
    bench,
    clock,
    () => {},
    () => {},
  );
  pump.start();
  go(2);
  const before = bench.cycles;
  go(60_000);
  expect(bench.cycles).toBe(before);
  go(2);
  expect(bench.cycles - before).toBeGreaterThan(31_000);
  pump.stop();
  expect(pending()).toBe(0);
});
