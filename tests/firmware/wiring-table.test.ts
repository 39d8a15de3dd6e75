// The tables of firmware/README.md say what the chip table and the firmware's sources say.
import { readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import { socketPins } from '../../src/chip/socket-pins.js';

const read = (path: string): string => readFileSync(new URL(`../../firmware/${path}`, import.meta.url), 'utf8');
const rows = read('README.md')
  .split('\n')
  .filter((line) => line.startsWith('|'))
  .map((line) =>
    line
      .split('|')
      .slice(1, -1)
      .map((cell) => cell.trim()),
  );

describe('when the wiring tables of firmware/README.md are read', () => {
  test.each([
    [1, 24, 2048],
    [2, 28, 2048],
    [3, 28, 8192],
    [4, 28, 32768],
    [5, 32, 131072],
    [6, 32, 524288],
  ] as const)('then column %d has the %d pins of a chip of %d cells', (column, pins, cells) => {
    const told = rows.filter((row) => row.length === 7 && /^\d+$/.test(row[0]!));
    expect(told.map((row) => row[column]).filter((name) => name !== '')).toEqual([...socketPins({ pins, cells })]);
  });

  test('then the printed numbers are those of the port pins', () => {
    // Arduino Uno pin map, from memory: port D from 0, port B from 8, port C from A0.
    const printed: Readonly<Record<string, (bit: string) => string>> = {
      B: (bit) => `${8 + Number(bit)}`,
      C: (bit) => `A${bit}`,
      D: (bit) => bit,
    };
    const board = rows.filter((row) => row.length === 4 && /P[BCD]\d/.test(row[1]!));
    expect(board).toHaveLength(12);
    for (const [, pins, numbers] of board)
      expect(numbers).toBe(pins!.replace(/P([BCD])(\d)/g, (_, port: string, bit: string) => printed[port]!(bit)));
  });

  test('then the fuse bytes have the bits that the page names', () => {
    // Bit positions: avr-libc, avr/iom328p.h. A programmed bit is 0.
    const byteOf = (name: string): number => Number.parseInt(rows.find(([fuse]) => fuse === name)![1]!, 16);
    const [low, high, extended] = ['low', 'high', 'extended'].map(byteOf);
    expect([low! & 0x0f, (low! >> 4) & 3, low! >> 7]).toEqual([0b1111, 0b11, 1]);
    expect([high! & 1, (high! >> 5) & 1, high! >> 7]).toEqual([1, 0, 1]);
    expect(extended! & 7).toBe(0b100);
  });

  test('then the board has the pins that the firmware drives', () => {
    const pins = read('src/avr/pins.h');
    const driven = (name: string): string => new RegExp(`#define ${name} (P[BCD]\\d)`).exec(pins)?.[1] ?? 'none';
    const told = (signal: string): string | undefined => rows.find(([name]) => name === signal)?.[1];
    const names = {
      'serial out': 'CHAIN_OUT',
      clock: 'CHAIN_CLOCK',
      'cell latch': 'CELL_LATCH',
      'row latch': 'ROW_LATCH',
    };
    const more = { 'chain return': 'CHAIN_RETURN', '/CE': 'CE', '/WE': 'WE', '/OE': 'OE', lamp: 'LAMP' };
    for (const [signal, name] of Object.entries({ ...names, ...more }))
      expect([signal, told(signal)]).toEqual([signal, driven(name)]);
  });
});
