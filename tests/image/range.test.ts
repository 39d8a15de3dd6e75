import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { ToolError } from '../../src/ground/errors.js';
import { imageOfBytes } from '../../src/image/image.js';
import { parseRange, sliceRange, spellRange, wholeRange } from '../../src/image/range.js';

describe('a range', () => {
  it.each([
    ['0x100..0x1ff', 0x100, 0x1ff],
    ['0X1F..0X1F', 0x1f, 0x1f],
    ['256..511', 256, 511],
    [' 0 .. 0xFF ', 0, 255],
    ['0x7fff', 0x7fff, 0x7fff],
  ])('when it is written %s, then both ends are included', (text, from, to) => {
    expect(parseRange(text)).toEqual({ from, to });
  });

  it('when it is spelled and read again, then it is the same', () => {
    fc.assert(
      fc.property(fc.nat(0xffffff), fc.nat(0xffffff), (a, b) => {
        const range = { from: Math.min(a, b), to: Math.max(a, b) };
        expect(parseRange(spellRange(range))).toEqual(range);
      }),
    );
  });

  it.each([
    ['', '"" is not an address'],
    ['100h', '"100h" is not an address'],
    ['0x100..', '"" is not an address'],
    ['0x100-0x1ff', '"0x100-0x1ff" is not an address'],
    ['-1..5', '"-1" is not an address'],
    ['1.5..2', '"1.5" is not an address'],
    ['5..4', 'its end lies before its beginning'],
    ['1..2..3', 'more than two ends'],
    ['0..0x800', 'the last cell is 0x7FF'],
    ['1e3', '"1e3" is not an address'],
  ])('when it is written "%s" for 2048 cells, then the reason is said', (text, reason) => {
    try {
      parseRange(text, 2048);
      expect.unreachable();
    } catch (error) {
      expect(ToolError.is(error, 'image.range') && error.message).toContain(reason);
      expect(ToolError.is(error, 'image.range') && error.exit).toBe(2);
    }
  });

  it('when no chip is known, then any end will do', () => {
    expect(parseRange('0x0..0xffffff')).toEqual({ from: 0, to: 0xffffff });
  });

  it('when it is far too long, then only its beginning is shown', () => {
    const longText = 'z'.repeat(500);
    const expected = `"${'z'.repeat(60)}" is not a range: "${'z'.repeat(20)}" is not an address.`;
    expect(() => parseRange(longText)).toThrow(expect.objectContaining({ message: expected }));
  });

  it('when it is all of a chip, then it ends with the last cell', () => {
    expect(wholeRange(2048)).toEqual({ from: 0, to: 2047 });
  });

  it('when an image with holes is cut, then the holes go along', () => {
    const image = { name: 'a', bytes: Uint8Array.of(1, 2, 3, 4), defined: Uint8Array.of(1, 0, 1, 0) };
    expect(sliceRange(image, { from: 1, to: 2 })).toEqual({
      name: 'a',
      bytes: Uint8Array.of(2, 3),
      defined: Uint8Array.of(0, 1),
    });
  });

  it('when an image is cut to it, then its first cell becomes cell 0', () => {
    const image = imageOfBytes('a', Uint8Array.of(1, 2, 3, 4, 5));
    expect(sliceRange(image, { from: 1, to: 3 }).bytes).toEqual(Uint8Array.of(2, 3, 4));
    expect(sliceRange(image, wholeRange(5))).toEqual(image);
  });
});
