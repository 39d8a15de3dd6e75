// The search line as a boot loader hears it: cut anywhere, at its own rate, bit by bit.
import { expect, test } from 'vitest';
import { searchLine, searchLineOfVersion1 } from '../../src/protocol/search-line.js';
import { pageText } from './protocol-page.js';

/** The level of the line at `time`, in bits of whoever sends: start bit, eight data bits, stop bit, back to back. */
const levelsOf = (text: string): number[] =>
  [...Buffer.from(text, 'latin1')].flatMap((byte) => [0, ...Array.from({ length: 8 }, (_, i) => (byte >> i) & 1), 1]);

/** Every character that a receiver can make of it: it begins at any falling edge, and goes on until the line is idle. */
function heard(text: string, bitOfReceiver: number): Set<string> {
  const levels = levelsOf(text);
  const level = (time: number): number => levels[Math.floor(time)] ?? 1;
  const falls = levels.flatMap((now, i) => (now === 0 && (i === 0 || levels[i - 1] === 1) ? [i] : []));
  const found = new Set<string>();
  for (const start of falls) {
    for (let edge: number | undefined = start; edge !== undefined; ) {
      const from: number = edge;
      const isStart = level(from + 0.5 * bitOfReceiver) === 0;
      if (isStart) {
        const bits = Array.from({ length: 8 }, (_, i) => level(from + (i + 1.5) * bitOfReceiver) << i);
        found.add(String.fromCharCode(bits.reduce((a, b) => a | b, 0)));
      }
      const end: number = from + (isStart ? 9.5 : 0.5) * bitOfReceiver;
      edge = falls.find((fall) => fall >= end);
    }
  }
  return found;
}

/**
 * 57600 and 115200 as the two published loaders set them (58 824 or 57 143, and 117 647 at 16 MHz), and what others use; each
 * with the tolerance of both ends.
 */
const loaderRates = [9600, 19200, 38400, 57143, 57600, 58824, 115200, 117647, 222222, 230400, 250000, 500000, 1000000];
const hostRates = [115200, 250000, 500000, 1000000];
const tolerances = [0.98, 0.985, 0.99, 0.995, 1, 1.005, 1.01, 1.015, 1.02];

function charactersHeard(text: string): Set<string> {
  const all = new Set<string>();
  for (const host of hostRates)
    for (const loader of loaderRates)
      for (const tolerance of tolerances)
        for (const character of heard(text, host / (loader * tolerance))) all.add(character);
  return all;
}

test('when the search line is cut anywhere and heard at any rate then no character of it begins to erase a page', () => {
  // STK500 communication protocol (Atmel AVR061): 64 'd' programs a page. Nothing else that these loaders know moves the flash.
  expect(charactersHeard(searchLine).has('d')).toBe(false);
});

test('when version 1 searches then its word alone could do it, which is why it was changed', () => {
  expect(charactersHeard(searchLineOfVersion1).has('d')).toBe(true);
});

test('when the page shows the search line then ours is the same', () => {
  expect(pageText).toContain(`> ${searchLine.trim()}\n`);
});
