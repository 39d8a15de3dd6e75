// The microcontroller: true costs, the input synchroniser, SLEEP, resets.
import { expect, test } from 'vitest';
import * as avr from './avr-program.js';
import { io8 } from './avr-program.js';
import { benchRunning, runFor } from './small-bench.js';

/** Sends the registers r20 and up, `count` of them, at 1 Mbaud, one after the other, then stops. */
const tell = (count: number) => [
  ...avr.serialAt1M(),
  ...Array.from({ length: count }, (_, i) => [...avr.sts(avr.UDR0, 20 + i), ...avr.wait(80)]).flat(),
  ...avr.halt,
];
const heard = (program: readonly number[], ms = 1, baud = 1_000_000) => {
  const bench = benchRunning(program);
  bench.line.setHostBaud(baud, 0);
  return [...runFor(bench, ms)];
};

test('when a pin is read right behind the OUT that moved it, then the old level is seen, and with a NOP between the new one', () => {
  const seen = heard([
    ...avr.set(io8.DDRC, 0x01),
    ...avr.ldi(16, 0x01),
    ...avr.out(io8.PORTC, 16),
    ...avr.inn(20, io8.PINC),
    ...avr.ldi(16, 0x00),
    ...avr.out(io8.PORTC, 16),
    ...avr.nop,
    ...avr.inn(21, io8.PINC),
    ...tell(2),
  ]);
  expect(seen.map((b) => b & 1)).toEqual([0, 0]);
  const settled = heard([
    ...avr.set(io8.DDRC, 0x01),
    ...avr.set(io8.PORTC, 0x01),
    ...avr.nop,
    ...avr.inn(20, io8.PINC),
    ...tell(1),
  ]);
  expect(settled.map((b) => b & 1)).toEqual([1]);
});

test('when a pin is read by a load right behind the OUT, then the new level is seen: a load looks one cycle later', () => {
  const seen = heard([
    ...avr.set(io8.DDRC, 0x01),
    ...avr.set(io8.PORTC, 0x01),
    ...avr.lds(20, io8.PINC + 0x20),
    ...tell(1),
  ]);
  expect(seen.map((b) => b & 1)).toEqual([1]);
});

test('when an input has its pull-up on and nothing drives it, then it reads high, and without the pull-up it does not', () => {
  const seen = heard([
    ...avr.set(io8.PORTC, 0x10),
    ...avr.nop,
    ...avr.inn(20, io8.PINC),
    ...avr.set(io8.PORTC, 0x00),
    ...avr.nop,
    ...avr.inn(21, io8.PINC),
    ...tell(2),
  ]);
  expect(seen.map((b) => b & 0x10)).toEqual([0x10, 0]);
});

test('when control lines are inputs, then their resistors hold them high', () => {
  expect(heard([...avr.nop, ...avr.inn(20, io8.PINC), ...tell(1)]).map((b) => b & 0x2a)).toEqual([0x2a]);
});

// Cycle counts: AVR instruction set manual, ATmega328P column. The lamp is moved before and after the instructions.
test.each([
  ['CBI', avr.cbi(io8.PORTB, 0), 2],
  ['SBI', avr.sbi(io8.PORTB, 0), 2],
  ['OUT', avr.out(io8.PORTB, 16), 1],
  ['LDS', avr.lds(16, 0x100), 2],
])('when %s runs, then it costs what the data sheet says', (_name, words, cycles) => {
  const bench = benchRunning([
    ...Array.from({ length: 1000 }, () => words).flat(),
    ...avr.set(io8.PORTC, 1),
    ...avr.set(io8.DDRC, 1),
    ...avr.halt,
  ]);
  let lit = 0;
  while (!bench.lampLit) bench.advance(++lit);
  expect(Math.round(lit / 1000)).toBe(cycles);
});

test('when the program sleeps, then a character wakes it, and the answer comes as fast as the line allows', () => {
  const main = [...avr.serialAt1M(0x80), ...avr.set(io8.SMCR, 0x01), ...avr.sei, ...avr.sleep, ...avr.rjmp(-2)];
  const bench = benchRunning(
    avr.withReceiveInterrupt(main, [...avr.lds(20, avr.UDR0), ...avr.sts(avr.UDR0, 20), ...avr.reti]),
  );
  bench.line.setHostBaud(1_000_000, 0);
  runFor(bench, 1);
  bench.send(Uint8Array.of(0x0a));
  const from = bench.cycles;
  bench.advance(from + 16_000);
  expect([...bench.line.take(bench.cycles)]).toEqual([0x0a]);
  // 9.5 bits in, 4 + 4 cycles to wake, a jump and a load and a store (2 each), 10 bits out.
  expect(bench.cycles - from).toBeGreaterThanOrEqual(152 + 8 + 6 + 160 - 2);
  expect(bench.cycles - from).toBeLessThanOrEqual(152 + 8 + 6 + 160 + 8);
});

test('when the program sleeps for an hour, then hardly any work is done for it', () => {
  const bench = benchRunning([...avr.set(io8.SMCR, 0x01), ...avr.sei, ...avr.sleep, ...avr.rjmp(-2)]);
  bench.advance(3600 * 16_000_000);
  expect(bench.cycles).toBe(3600 * 16_000_000);
});

test('when the writer is reset, then SRAM is kept and its ports are inputs again', () => {
  // Adds one to a cell of SRAM at each start and tells it.
  const program = [...avr.lds(20, 0x200), 0x9543, 0x9200 | (20 << 4), 0x200, ...tell(1)];
  const bench = benchRunning(program);
  bench.line.setHostBaud(1_000_000, 0);
  const first = [...runFor(bench, 1)][0]!;
  bench.resetWriter();
  expect([...runFor(bench, 1)]).toEqual([(first + 1) & 0xff]);
});

test('when power was cut, then SRAM holds noise that follows from the seed', () => {
  const told = (seed: number) => {
    const bench = benchRunning([...avr.lds(20, 0x200), ...tell(1)], { seed });
    bench.line.setHostBaud(1_000_000, 0);
    const first = [...runFor(bench, 1)];
    bench.cutPower(5);
    return [...first, ...runFor(bench, 7)];
  };
  expect(told(1)).toHaveLength(2);
  expect(told(1)).toEqual(told(1));
  expect(told(1)).not.toEqual(told(2));
});

test('when the reset flags are read, then they name power-up, then the reset pin', () => {
  const bench = benchRunning([...avr.inn(20, 0x34), ...avr.set(0x34, 0), ...tell(1)]);
  bench.line.setHostBaud(1_000_000, 0);
  const power = [...runFor(bench, 1)];
  bench.resetWriter();
  expect([...power, ...runFor(bench, 1)]).toEqual([0x01, 0x02]);
});

test('when the watchdog bites, then the writer starts anew with its flag set', () => {
  const start = [...avr.inn(20, 0x34), ...avr.set(0x34, 0), ...avr.serialAt1M(), ...avr.sts(avr.UDR0, 20)];
  // WDTCSR at 0x60: change enable, then reset mode at the shortest time (16 ms).
  const bench = benchRunning([...start, ...avr.store(0x60, 0x18), ...avr.store(0x60, 0x08), ...avr.halt]);
  bench.line.setHostBaud(1_000_000, 0);
  expect([...runFor(bench, 40)]).toEqual([0x01, 0x08, 0x08]);
});
