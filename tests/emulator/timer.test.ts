// Timers computed when read: counting, flags, clear on compare, interrupts (ATmega328P data sheet, timer chapters).
import { CPU } from 'avr8js';
import { expect, test } from 'vitest';
import { wireTimers } from '../../src/emulator/timer.js';

const TCCR1B = 0x81;
const TCNT1L = 0x84;
const OCR1AL = 0x88;
const TIFR1 = 0x36;
const TIMSK1 = 0x6f;
const TCCR0A = 0x44;
const TCCR0B = 0x45;
const TCNT0 = 0x46;
const OCR0A = 0x47;
const TIFR0 = 0x35;

function withTimers(): CPU {
  const cpu = new CPU(new Uint16Array(0x4000), 2048);
  wireTimers(cpu);
  return cpu;
}
const count1 = (cpu: CPU) => cpu.readData(TCNT1L) | (cpu.readData(TCNT1L + 1) << 8);
function write16(cpu: CPU, address: number, value: number): void {
  cpu.writeData(address + 1, value >> 8);
  cpu.writeData(address, value & 0xff);
}

test('when timer 1 runs at an eighth of the clock, then it counts eight cycles a step and wraps with its flag', () => {
  const cpu = withTimers();
  cpu.writeData(TCCR1B, 2);
  cpu.cycles += 8 * 1000 + 3;
  expect(count1(cpu)).toBe(1000);
  expect(cpu.readData(TIFR1) & 1).toBe(0);
  cpu.cycles += 8 * 65536;
  expect(count1(cpu)).toBe(1000);
  expect(cpu.readData(TIFR1) & 1).toBe(1);
  cpu.writeData(TIFR1, 1);
  expect(cpu.readData(TIFR1) & 1).toBe(0);
});

test('when timer 0 is stopped and started, then it goes on where it was', () => {
  const cpu = withTimers();
  cpu.writeData(TCCR0B, 5);
  cpu.cycles = 1024 * 10;
  cpu.writeData(TCCR0B, 0);
  cpu.cycles = 1024 * 50;
  expect(cpu.readData(TCNT0)).toBe(10);
  cpu.writeData(TCCR0B, 5);
  cpu.cycles = 1024 * 55;
  expect(cpu.readData(TCNT0)).toBe(15);
});

test('when a timer clears on compare, then it counts from 0 to the compare value and flags each match', () => {
  const cpu = withTimers();
  cpu.writeData(TCCR0A, 2);
  cpu.writeData(OCR0A, 99);
  cpu.writeData(TCCR0B, 1);
  cpu.cycles += 98;
  expect(cpu.readData(TIFR0) & 3).toBe(0);
  cpu.cycles += 1;
  expect(cpu.readData(TIFR0) & 3).toBe(2);
  cpu.cycles += 51;
  expect(cpu.readData(TCNT0)).toBe(50);
});

test('when a compare interrupt is enabled, then its event comes at the very cycle', () => {
  const cpu = withTimers();
  write16(cpu, OCR1AL, 1000);
  cpu.writeData(TIMSK1, 2);
  cpu.writeData(TCCR1B, 1);
  cpu.cycles = 999;
  cpu.tick();
  expect(cpu.nextInterrupt).toBe(-1);
  cpu.cycles = 1000;
  cpu.tick();
  expect(cpu.nextInterrupt).toBe(0x16);
});

test('when the count is written, then counting goes on from there', () => {
  const cpu = withTimers();
  cpu.writeData(TCCR1B, 2);
  write16(cpu, TCNT1L, 0xfff0);
  cpu.cycles += 8 * 0x20;
  expect([count1(cpu), cpu.readData(TIFR1) & 1]).toEqual([0x10, 1]);
});
