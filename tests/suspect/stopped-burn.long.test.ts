// Burns that stopped early, for whatever reason: what was never written accuses nobody.
import { describe, expect, it } from 'vitest';
import { findPart } from '../../src/chip/chip-table.js';
import { seededRandom } from '../../src/ground/random.js';
import { type Image, imageOfBytes } from '../../src/image/image.js';
import { explainReadback } from '../../src/suspect/explain-readback.js';
import { skerryDisplay } from './display-image.js';

const random = seededRandom(52);
const cells = 2048;
const noise = imageOfBytes('noise', random.bytes(cells));
const display = skerryDisplay();
const halfOf = (image: Image): Image => ({ ...image, defined: image.defined.map((_, a) => (a < cells / 2 ? 1 : 0)) });
const images = [noise, display].flatMap((image) => [image, halfOf(image)]);

/** The chip after a sound writer wrote up to this address. */
const writtenTo = (image: Image, end: number, before: Uint8Array): Uint8Array =>
  before.map((byte, a) => (a < end && image.defined[a] === 1 ? image.bytes[a]! : byte));

/** The chip after a burn of pages of 64 through an address line with one level, that is so at reading too. */
const burnedWithLine = (bit: number, before: Uint8Array): Uint8Array => {
  const chip = before.slice();
  for (let start = 0; start < cells; start += 64) {
    const isWrong = (a: number): boolean => before[a | bit] !== noise.bytes[a];
    let [first, last] = [start, start + 63];
    while (first <= last && !isWrong(first)) first++;
    while (last > first && !isWrong(last)) last--;
    for (let a = first; a <= last; a++) chip[a | bit] = noise.bytes[a]!;
  }
  return chip.map((_, a) => chip[a | bit]!);
};

describe('a sound writer that stopped early', () => {
  it.each([
    ['FF', new Uint8Array(cells).fill(0xff), {}],
    ['other bytes, said with the readback', noise.bytes.toReversed(), { before: noise.bytes.toReversed() }],
  ])('when the chip held %s then no line is blamed, wherever it stopped', (_, before, options) => {
    for (const image of images)
      for (const end of [64, 77, 320, 500, 512, 1000]) {
        const { healthy, explanations } = explainReadback(image, writtenTo(image, end, before), options);
        if (healthy) continue;
        expect(explanations.filter((e) => e.faults.length > 0)).toEqual([]);
        expect(explanations.map((e) => e.kind)).toContain('pages-missing');
      }
  });

  it('when every page is alike then the stretch that was not written is among what fits', () => {
    const alike = imageOfBytes(
      'alike',
      Uint8Array.from({ length: cells }, (_, a) => (a % 64) * 3),
    );
    for (const end of [320, 512]) {
      const { explanations } = explainReadback(alike, writtenTo(alike, end, new Uint8Array(cells).fill(0xff)));
      expect(explanations.map((e) => e.kind)).toContain('pages-missing');
    }
  });

  it('when only the rest is unwritten then it is one stretch, and told where the burn tells more', () => {
    const readback = writtenTo(noise, 320, new Uint8Array(cells).fill(0xff));
    const [missing] = explainReadback(noise, readback, { part: findPart('AT28C64B') }).explanations;
    expect(missing!.cause).toMatchObject({ missingCount: 27, missing: [{ from: 0x140, to: 0x7ff }], stoppedAt: 0x140 });
  });

  it('when no part is known then no page size is stated', () => {
    const readback = writtenTo(noise, 320, new Uint8Array(cells).fill(0xff));
    for (const { cause } of explainReadback(noise, readback).explanations)
      if (cause.is === 'pages') expect(cause.isPartsPage).toBe(false);
  });

  it('when the chip held something unknown then nothing is blamed, and it is told that it is not known', () => {
    const { explanations, advice } = explainReadback(noise, writtenTo(noise, 320, noise.bytes.toReversed()));
    expect(explanations).toEqual([]);
    expect(advice).toMatchObject({ trouble: 'many', knowsBefore: false });
  });
});

describe('a line with one level, through which a chip was burned that held other bytes', () => {
  const bit = 512;
  // Some edges of pages are right already, hence not sent: which, nobody can tell from the readback.
  const before = random.bytes(cells);
  for (let start = 0; start < cells; start += 64) before[start | bit] = noise.bytes[start]!;
  const readback = burnedWithLine(bit, before);

  it('when what it held is not known then the line is named, and is not said to wander', () => {
    const { explanations } = explainReadback(noise, readback);
    expect(explanations).toHaveLength(1);
    expect(explanations[0]!.cause).toMatchObject({ is: 'wandering', line: 'A9', isSteady: true });
  });

  it('when what it held is known then every byte is foretold', () => {
    const { explanations } = explainReadback(noise, readback, { before, part: findPart('AT28C64B') });
    expect(explanations[0]).toMatchObject({ faults: [{ line: 'A9' }], cause: { is: 'wires', when: 'both' } });
  });

  it('when passes that mix both levels all read the same then nothing wanders', () => {
    const mixed = noise.bytes.map((_, a) => noise.bytes[(a * 7) % 11 < 5 ? a : a ^ bit]!);
    expect(explainReadback(noise, mixed).explanations[0]!.cause).toMatchObject({ line: 'A9', isSteady: false });
    expect(explainReadback(noise, mixed, { passes: [mixed, mixed] }).explanations).toEqual([]);
  });
});
