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
