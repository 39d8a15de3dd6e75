import { describe, expect, it } from 'vitest';
import { type Image, imageOfBytes } from '../../src/image/image.js';
import { sha256Of, sumsOf } from '../../src/image/image-sums.js';

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
  // SHA-256 of "abc": FIPS 180-2, appendix B.1.
  it('when it holds abc, then it is the published digest of abc', () => {
    expect(sha256Of(imageOfBytes('a', text('abc')))).toBe(
      'ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad',
    );
  });

  it('when bytes are undefined, then they count as FF, and the name does not count', () => {
    const half: Image = { name: 'b', bytes: Uint8Array.of(1, 77), defined: Uint8Array.of(1, 0) };
    expect(sha256Of(half)).toBe(sha256Of(imageOfBytes('a', Uint8Array.of(1, 0xff))));
    expect(sha256Of(half)).not.toBe(sha256Of(imageOfBytes('a', Uint8Array.of(1, 77))));
  });
});
