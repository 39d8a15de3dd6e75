import { describe, expect, it } from 'vitest';
import { type Image, imageOfBytes } from '../../src/image/image.js';
import { digestOf, sumsOf } from '../../src/image/image-sums.js';

const text = (t: string) => new Uint8Array(Buffer.from(t, 'latin1'));

describe('the sums of an image', () => {
  // CRC-32/ISO-HDLC check value: Greg Cook, Catalogue of parametrised CRC algorithms.
  it('when it holds 123456789, then its CRC-32 is the catalogue check value', () => {
    expect(sumsOf(imageOfBytes('a', text('123456789')))).toEqual({ crc32: 0xcbf43926, sum8: 0xdd, sum16: 0x1dd });
  });

  // Computed from the catalogue's parameters over whole blank chips.
  it.each([
    [2048, 0x3f55d17f],
    [8192, 0xb4293435],
    [32768, 0x1b43eabd],
  ])('when %i cells are undefined, then they count as FF', (cells, crc32) => {
    const blank: Image = { name: 'a', bytes: new Uint8Array(cells), defined: new Uint8Array(cells) };
    expect(sumsOf(blank).crc32).toBe(crc32);
  });
});

describe('the digest of an image', () => {
  const defined = imageOfBytes('a', Uint8Array.of(1, 0));
  const half: Image = { ...defined, defined: Uint8Array.of(1, 0) };

  it('when name or undefined bytes differ, then it is the same', () => {
    expect(digestOf({ ...half, name: 'b', bytes: Uint8Array.of(1, 77) })).toBe(digestOf(half));
  });

  it('when a byte, a definition or the size differs, then it is another', () => {
    const digests = [
      defined,
      half,
      imageOfBytes('a', Uint8Array.of(2, 0)),
      imageOfBytes('a', Uint8Array.of(1, 0, 0)),
    ].map(digestOf);
    expect(new Set(digests).size).toBe(4);
  });

  // SHA-256 of the text 0, LF: computed with sha256sum of GNU coreutils.
  it('when the image is empty, then it is the digest of its size alone', () => {
    expect(digestOf(imageOfBytes('a', new Uint8Array()))).toBe(
      '9a271f2a916b0b6ee6cecb2426f0b3206ef074578be55d9bc94f6f3fe3ab86aa',
    );
  });
});
