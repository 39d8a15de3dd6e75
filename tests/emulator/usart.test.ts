// The serial port of the microcontroller: double buffering, overrun, framing, and what another rate does to characters.
import { expect, test } from 'vitest';
import { sampledCharacter } from '../../src/emulator/character-sampling.js';
import { seededRandom } from '../../src/ground/random.js';
import * as avr from './avr-program.js';
import { benchRunning, runFor } from './small-bench.js';

const wrongCharacters = (ratio: number, samples: 8 | 16): number => {
  const random = seededRandom(4);
  let wrong = 0;
  for (let i = 0; i < 2000; i++) {
    const seen = sampledCharacter(i & 0xff, 100 / ratio, 100, samples, random);
    if (seen.byte !== (i & 0xff) || seen.framingError) wrong++;
  }
  return wrong;
};

// Published limits of the total receiver error for 8 data bits: -4.54 / +4.58 % at normal speed, -4.00 / +3.90 % at double
// speed (ATmega data sheets, USART, "recommended maximum receiver baud rate error"; Microchip "Error Tolerance").
test.each([
  [0.9546, 16],
  [1.0458, 16],
  [0.96, 8],
  [1.039, 8],
] as const)(
  'when a sender runs at %f of the receiver at %i samples a bit, then every character is right',
  (ratio, samples) => {
    expect(wrongCharacters(ratio, samples)).toBe(0);
  },
);

test.each([
  [0.94, 16],
  [1.06, 16],
  [0.94, 8],
  [1.06, 8],
] as const)(
  'when a sender runs at %f of the receiver at %i samples a bit, then characters come out wrong',
  (ratio, samples) => {
    expect(wrongCharacters(ratio, samples)).toBeGreaterThan(100);
  },
);

test('when the writer sends without a gap, then a character takes exactly ten bits', () => {
  // Waits for UDRE, then sends; 20 characters at 1 Mbaud are 20 x 160 cycles.
  const sendOne = [...avr.lds(20, avr.UCSR0A), ...avr.sbrs(20, 5), ...avr.rjmp(-4), ...avr.store(avr.UDR0, 0x0a)];
  const bench = benchRunning([...avr.serialAt1M(), ...Array.from({ length: 20 }, () => sendOne).flat(), ...avr.halt]);
  bench.line.setHostBaud(1_000_000, 0);
  const times: number[] = [];
  while (times.length < 20) {
    bench.advance(bench.cycles + 16_000);
    if (bench.line.take(bench.cycles).length > 0) times.push(bench.cycles);
  }
  const gaps = times.slice(1).map((t, i) => t - times[i]!);
  // A stop falls on the end of an instruction, up to three cycles late.
  expect(gaps.every((g) => Math.abs(g - 160) <= 3)).toBe(true);
  expect(Math.abs(times[19]! - times[0]! - 19 * 160)).toBeLessThanOrEqual(3);
});

/** Waits 200 us, then reads status and character five times and tells them. */
const slowReader = [
  ...avr.serialAt1M(),
  ...avr.waitUs(1000),
  ...Array.from({ length: 4 }, (_, i) => [...avr.lds(20 + i, avr.UCSR0A), ...avr.lds(24 + i, avr.UDR0)]).flat(),
  ...Array.from({ length: 8 }, (_, i) => [...avr.sts(avr.UDR0, 20 + i), ...avr.wait(80)]).flat(),
  ...avr.halt,
];

test('when eight characters come to a slow reader, then the first three or so stay, the loss is flagged, and no more come', () => {
  const bench = benchRunning(slowReader);
  bench.line.setHostBaud(1_000_000, 0);
  runFor(bench, 0.1);
  bench.send(Uint8Array.of(1, 2, 3, 4, 5, 6, 7, 8));
  const told = [...runFor(bench, 5)];
  const [status, characters] = [told.slice(0, 4), told.slice(4)];
  // Two in the queue, and the shift register's, which the later ones overwrote: read third, with DOR (08).
  expect(characters).toEqual([1, 2, 8, 0]);
  expect(status.map((s) => s & 0x88)).toEqual([0x80, 0x80, 0x88, 0x00]);
});

test('when the host runs at another rate, then framing errors are flagged', () => {
  const bench = benchRunning(slowReader);
  bench.line.setHostBaud(1_000_000, 0);
  runFor(bench, 0.1);
  bench.line.setHostBaud(400_000, bench.cycles);
  bench.send(Uint8Array.of(0x00));
  runFor(bench, 0.5);
  bench.line.setHostBaud(1_000_000, bench.cycles);
  const told = [...runFor(bench, 5)];
  expect(told[0]! & 0x90).toBe(0x90);
});

test('when the receiver is off, then characters are not heard', () => {
  const bench = benchRunning([...avr.store(avr.UCSR0B, 0x08), ...slowReader.slice(9)]);
  runFor(bench, 0.05);
  bench.send(Uint8Array.of(1, 2));
  expect(bench.line.busyUntil()).not.toBeNull();
  runFor(bench, 1);
  expect(bench.line.busyUntil()).toBeNull();
});
