// Idle loops that are counted and not run: exactly the same as running them, and hardly any work.
import { expect, test } from 'vitest';
import type { EmulatedBench } from '../../src/emulator/emulated-bench.js';
import { withCheck } from '../../src/protocol/line.js';
import * as avr from './avr-program.js';
import { firmwareBench } from './firmware-talk.js';
import { benchRunning } from './small-bench.js';

/** Passes time in steps too short for the machine to look for an idle loop, or in one go; the lines that came, and when. */
function heardUntil(bench: EmulatedBench, end: number, step: number): string[] {
  const heard: string[] = [];
  let line = '';
  while (bench.cycles < end) {
    bench.advance(Math.min(end, bench.cycles + step));
    line += Buffer.from(bench.line.take(bench.cycles)).toString('latin1');
    if (!line.endsWith('\n')) continue;
    heard.push(`${bench.cycles} ${line}`);
    line = '';
  }
  return heard;
}

const ms = (n: number) => n * 16_000;

test('when the firmware idles, then skipping its loop changes no cycle of what it says', () => {
  const told = (step: number) => {
    const bench = firmwareBench('AT28C64B');
    const heard = heardUntil(bench, ms(60), step);
    for (let i = 1; i <= 4; i++) {
      bench.send(Buffer.from(withCheck(`0${i} who`)));
      heard.push(...heardUntil(bench, ms(60 + i * 37) + i * 211, step));
    }
    return heard;
  };
  const skipping = told(ms(1000));
  expect(skipping).toHaveLength(5);
  expect(skipping).toEqual(told(3000));
});

test('when a loop waits for a timer flag, then it sees the flag at the same cycle', () => {
  // Timer 0 at 1024: waits for its overflow, tells, clears it, again.
  const program = [
    ...avr.serialAt1M(),
    ...avr.set(0x25, 0x05),
    ...avr.inn(20, 0x15),
    ...avr.sbrs(20, 0),
    ...avr.rjmp(-3),
    ...avr.set(0x15, 0x01),
    ...avr.store(avr.UDR0, 0x0a),
    ...avr.rjmp(-11),
  ];
  const told = (step: number) => {
    const bench = benchRunning(program);
    bench.line.setHostBaud(1_000_000, 0);
    return heardUntil(bench, ms(100), step);
  };
  const skipping = told(ms(1000));
  expect(skipping).toHaveLength(6);
  expect(skipping).toEqual(told(3000));
});

test('when the firmware idles for long, then it costs a small part of running it', () => {
  const bench = firmwareBench('AT28C64B');
  heardUntil(bench, ms(60), ms(1000));
  heardUntil(bench, ms(20_000), ms(1000));
  expect(bench.cycles).toBeGreaterThanOrEqual(ms(20_000));
}, 20_000);
