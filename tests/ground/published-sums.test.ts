// Check sums with the catalogue's check values (Greg Cook, Catalogue of parametrised CRC algorithms), and against the crc package.
import crc16kermit from 'crc/crc16kermit';
import crc16modbus from 'crc/crc16modbus';
import { describe, expect, it } from 'vitest';
import { crc16Ibm3740, crc32IsoHdlc } from '../../src/ground/check-sums.js';
import { publishedSum, publishedSums, sumNames } from '../../src/ground/published-sums.js';
import { seededRandom } from '../../src/ground/random.js';

const digits = Buffer.from('123456789', 'latin1');

describe('published sums', () => {
  it.each([
    ['crc-8/smbus', 0xf4],
    ['crc-16/xmodem', 0x31c3],
    ['crc-16/ibm-3740', 0x29b1],
    ['crc-16/kermit', 0x2189],
    ['crc-16/arc', 0xbb3d],
    ['crc-16/modbus', 0x4b37],
    ['crc-32/iso-hdlc', 0xcbf43926],
    ['crc-32/bzip2', 0xfc891918],
    // 0x31 to 0x39 are 477 together.
    ['sum-8', 477 - 256],
    ['sum-8-negated', 512 - 477],
    ['sum-16', 477],
  ] as const)('when %s is made of 123456789 then it is the published value', (name, check) => {
    expect(publishedSum(name, digits)).toBe(check);
    expect(publishedSums[name].check).toBe(check);
  });

  it('when the table is read then every row was checked above', () => {
    expect(sumNames).toHaveLength(11);
  });

  it('when other code makes the same sum then they agree on any bytes', () => {
    const random = seededRandom(5);
    for (let count = 0; count < 60; count++) {
      const bytes = random.bytes(count * 7);
      expect(publishedSum('crc-16/ibm-3740', bytes)).toBe(crc16Ibm3740(bytes));
      expect(publishedSum('crc-32/iso-hdlc', bytes)).toBe(crc32IsoHdlc(bytes));
      expect(publishedSum('crc-16/kermit', bytes)).toBe(crc16kermit(Buffer.from(bytes)));
      expect(publishedSum('crc-16/modbus', bytes)).toBe(crc16modbus(Buffer.from(bytes)));
    }
  });

  it('when the negated sum is added to its bytes then all come to 0', () => {
    const bytes = [...digits, publishedSum('sum-8-negated', digits)];
    expect(bytes.reduce((a, b) => a + b, 0) % 256).toBe(0);
  });
});
