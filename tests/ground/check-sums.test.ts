import { crc32 as zlibCrc32 } from 'node:zlib';
import { describe, expect, it } from 'vitest';
import { bytesOfText } from '../../src/ground/byte-text.js';
import { byteSum, crc16Ibm3740, crc32IsoHdlc } from '../../src/ground/check-sums.js';
import { seededRandom } from '../../src/ground/random.js';

const digits = bytesOfText('123456789');
const upTo255 = Uint8Array.from({ length: 256 }, (_, i) => i);

describe('check sums', () => {
  // Greg Cook, Catalogue of parametrised CRC algorithms: the check value is the CRC of the nine bytes "123456789".
  it('when the catalogue gives a check value then ours is the same', () => {
    expect(crc16Ibm3740(digits)).toBe(0x29b1);
    expect(crc32IsoHdlc(digits)).toBe(0xcbf43926);
  });

  // Computed from the catalogue's parameters.
  it('when the bytes are 00, FF or 00 to FF then the sums are the computed ones', () => {
    expect(crc16Ibm3740(Uint8Array.of(0))).toBe(0xe1f0);
    expect(crc16Ibm3740(Uint8Array.of(0xff))).toBe(0xff00);
    expect(crc16Ibm3740(upTo255)).toBe(0x3fbd);
    expect(crc32IsoHdlc(Uint8Array.of(0))).toBe(0xd202ef8d);
    expect(crc32IsoHdlc(Uint8Array.of(0xff))).toBe(0xff000000);
    expect(crc32IsoHdlc(upTo255)).toBe(0x29058c73);
    expect(crc32IsoHdlc(new Uint8Array(2048).fill(0xff))).toBe(0x3f55d17f);
    expect(crc32IsoHdlc(new Uint8Array(32768).fill(0xff))).toBe(0x1b43eabd);
  });

  it('when zlib sums the same bytes then it agrees, whole or in two pieces', () => {
    const random = seededRandom(7);
    for (let i = 0; i < 50; i += 1) {
      const bytes = random.bytes(random.below(3000));
      const cut = random.below(bytes.length + 1);
      // zlib.crc32 came with Node 20.15; an older one has nothing to compare with.
      if (zlibCrc32) expect(crc32IsoHdlc(bytes)).toBe(zlibCrc32(bytes));
      expect(crc32IsoHdlc(bytes.subarray(cut), crc32IsoHdlc(bytes.subarray(0, cut)))).toBe(crc32IsoHdlc(bytes));
    }
  });

  it('when bytes are added up then the sum wraps at its width', () => {
    expect(byteSum(new Uint8Array(300).fill(0xff), 8)).toBe((300 * 255) % 256);
    expect(byteSum(new Uint8Array(300).fill(0xff), 16)).toBe((300 * 255) % 65536);
  });
});
