// The chain of 74HC595: order of bytes, two latches, the way back, and what a hasty latch catches.
import { expect, test } from 'vitest';
import { AddressRegisters } from '../../src/emulator/address-registers.js';
import type { RuleName } from '../../src/emulator/violation.js';
import { seededRandom } from '../../src/ground/random.js';
import * as avr from './avr-program.js';
import { io8 } from './avr-program.js';
import { benchRunning, rulesBroken, runFor } from './small-bench.js';

function chain(fitted: 2 | 3, returns = true) {
  const broken: RuleName[] = [];
  return { chain: new AddressRegisters(fitted, returns, seededRandom(1), (rule) => void broken.push(rule)), broken };
}

test('when the highest byte is shifted first, then two and three registers carry the address alike', () => {
  for (const fitted of [2, 3] as const) {
    const { chain: c, broken } = chain(fitted);
    [0x01, 0x23, 0x45].forEach((byte, i) => void c.shift(byte, i * 20, 2));
    c.latchCells(100);
    c.latchRows(100);
    expect(c.outputs).toBe(fitted === 3 ? 0x012345 : 0x2345);
    expect(broken).toEqual([]);
  }
});

test('when only the cell latch is pulsed, then A8 and up stay', () => {
  const { chain: c } = chain(2);
  c.shift(0x12, 0, 2);
  c.shift(0x34, 20, 2);
  c.latchRows(100);
  c.latchCells(100);
  c.shift(0x56, 200, 2);
  c.latchCells(300);
  expect(c.outputs).toBe(0x1256);
});

test('when bytes are pushed through, then they come back after as many bytes as there are registers', () => {
  for (const fitted of [2, 3] as const) {
    const { chain: c } = chain(fitted);
    const back = [0xa5, 0, 0, 0, 0].map((byte, i) => c.shift(byte, i * 20, 2));
    expect(back.indexOf(0xa5)).toBe(fitted);
    expect(chain(fitted, false).chain.shift(0xa5, 0, 2)).toBe(0xff);
  }
});

test('when a latch comes before the last bit is in, then it catches a half-shifted byte and is reported', () => {
  const { chain: c, broken } = chain(2);
  c.shift(0x00, 0, 2);
  c.shift(0x00, 20, 2);
  c.shift(0xff, 40, 2);
  // Clock edges at 41, 43, ... 55: at 46 three bits are in.
  c.latchCells(46);
  expect([c.outputs & 0xff, broken]).toEqual([0b111, ['latch-while-shifting']]);
  c.latchCells(55);
  expect(c.outputs & 0xff).toBe(0xff);
  expect(broken).toHaveLength(1);
});

const spiOn = [...avr.set(io8.DDRB, 0x2c), ...avr.set(io8.SPSR, 0x01), ...avr.set(io8.SPCR, 0x50)];

test('when a program hands the SPI two bytes too close, then that is reported, and at 17 cycles it is not', () => {
  const gap = (nops: number) => {
    const hasty = [...spiOn, ...avr.out(io8.SPDR, 16), ...Array(nops).fill(0), ...avr.out(io8.SPDR, 16), ...avr.halt];
    const bench = benchRunning(hasty);
    runFor(bench, 0.1);
    return rulesBroken(bench);
  };
  expect(gap(15)).toEqual(['spi-write-collision']);
  expect(gap(16)).toEqual([]);
});

test('when a program latches in the middle of a byte, then that is reported', () => {
  const bench = benchRunning([...spiOn, ...avr.out(io8.SPDR, 16), ...avr.sbi(io8.PORTB, 2), ...avr.halt]);
  runFor(bench, 0.1);
  expect(rulesBroken(bench)).toEqual(['latch-while-shifting']);
});

test('when the SPI runs in mode 1, then its clock edge is the wrong one', () => {
  const bench = benchRunning([...spiOn, ...avr.set(io8.SPCR, 0x54), ...avr.out(io8.SPDR, 16), ...avr.halt]);
  runFor(bench, 0.1);
  expect(rulesBroken(bench)).toEqual(['spi-clock-edge']);
});

test('when the SPI is off, then bits can be shifted by hand, and the way back shows on PB4', () => {
  // Sixteen ones, each with its own clock; then the last register's output must be high.
  const bitIn = [...avr.set(io8.PORTB, 0x08), ...avr.set(io8.PORTB, 0x28)];
  const bench = benchRunning([
    ...avr.serialAt1M(),
    ...avr.set(io8.DDRB, 0x2c),
    ...Array.from({ length: 16 }, () => bitIn).flat(),
    ...avr.nop,
    ...avr.inn(20, io8.PINB),
    ...avr.sts(avr.UDR0, 20),
    ...avr.halt,
  ]);
  bench.line.setHostBaud(1_000_000, 0);
  expect([...runFor(bench, 1)].map((b) => b & 0x10)).toEqual([0x10]);
});
