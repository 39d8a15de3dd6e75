// The form of a line and the sums that guard it, held to the page and to published check values.
import { describe, expect, test } from 'vitest';
import { base64OfBytes, bytesOfBase64, bytesOfText, hex } from '../../src/ground/byte-text.js';
import { crc16Ibm3740, crc32IsoHdlc } from '../../src/ground/check-sums.js';
import { checkOf, composeLine, partsOfLine, withCheck } from '../../src/protocol/line.js';
import { checkSumTables } from './protocol-page.js';

/** A CRC of width 16 or 32 computed bit by bit from the page's own parameters, as its table defines it. */
function crcByTable(table: ReadonlyMap<string, string>, bytes: Uint8Array): number {
  const number = (name: string): bigint => BigInt(`0x${table.get(name)!}`);
  const width = BigInt(table.get('width')!);
  const top = 1n << (width - 1n);
  const all = (1n << width) - 1n;
  const [reflectIn, reflectOut] = table
    .get('reflected in, out')!
    .split(', ')
    .map((word) => word === 'yes');
  const reflect = (value: bigint, bits: bigint): bigint => {
    let out = 0n;
    for (let i = 0n; i < bits; i++) if (value & (1n << i)) out |= 1n << (bits - 1n - i);
    return out;
  };
  let sum = number('start value');
  for (const byte of bytes) {
    sum ^= (reflectIn ? reflect(BigInt(byte), 8n) : BigInt(byte)) << (width - 8n);
    for (let bit = 0; bit < 8; bit++) sum = sum & top ? ((sum << 1n) ^ number('polynomial')) & all : (sum << 1n) & all;
  }
  return Number((reflectOut ? reflect(sum, width) : sum) ^ number('final xor'));
}

describe('check sums', () => {
  const [line, content] = checkSumTables();
  const digits = bytesOfText('123456789');
  const checkRow = 'check value of `123456789`';

  // Greg Cook, Catalogue of parametrised CRC algorithms: CRC-16/IBM-3740 check 29b1, CRC-32/ISO-HDLC check cbf43926.
  test('when the nine digits are summed then the catalogue check values come out', () => {
    expect(line!.get('name')).toBe('CRC-16/IBM-3740');
    expect(hex(crc16Ibm3740(digits), 4)).toBe('29B1');
    expect(line!.get(checkRow)).toBe('29B1');
    expect(content!.get('name')).toBe('CRC-32/ISO-HDLC');
    expect(hex(crc32IsoHdlc(digits), 8)).toBe('CBF43926');
    expect(content!.get(checkRow)).toBe('CBF43926');
  });

  test("when bytes are summed then the page's parameters, taken literally, agree", () => {
    for (const text of ['', 'a', '123456789', '01 who', '\xff\x00\xfe'.repeat(50)]) {
      const bytes = bytesOfText(text);
      expect(crcByTable(line!, bytes)).toBe(crc16Ibm3740(bytes));
      expect(crcByTable(content!, bytes)).toBe(crc32IsoHdlc(bytes));
    }
  });

  test('when a CRC-32 is continued then it is the sum of the whole', () => {
    const bytes = bytesOfText('the bus is charged');
    expect(crc32IsoHdlc(bytes.subarray(7), crc32IsoHdlc(bytes.subarray(0, 7)))).toBe(crc32IsoHdlc(bytes));
  });
});

describe('base64', () => {
  // RFC 4648 section 10, Test Vectors.
  const vectors: [string, string][] = [
    ['', ''],
    ['f', 'Zg=='],
    ['fo', 'Zm8='],
    ['foo', 'Zm9v'],
    ['foob', 'Zm9vYg=='],
    ['fooba', 'Zm9vYmE='],
    ['foobar', 'Zm9vYmFy'],
  ];
  for (const [text, base64] of vectors) {
    test(`when "${text}" is spelled then it is "${base64}"`, () => {
      expect(base64OfBytes(bytesOfText(text))).toBe(base64);
      expect(bytesOfBase64(base64)).toEqual(bytesOfText(text));
    });
  }

  test('when the spelling is another one then it is refused', () => {
    for (const text of ['Zg', 'Zg=', 'Zh==', 'Zm9=', 'Zm9v=', '====', 'Zm9v\n', 'Zm-_', 'Z g=']) {
      expect(bytesOfBase64(text), text).toBeNull();
    }
  });
});

describe('the form of a line', () => {
  test('when a line is composed then it comes apart the same', () => {
    const line = composeLine(0x0a, 'read', ['10', '6']);
    expect(line).toMatch(/^0A read 10 6 [0-9A-F]{4}\n$/);
    expect(partsOfLine(line.slice(0, -1))).toEqual({
      seq: 10,
      word: 'read',
      fields: ['10', '6'],
      check: checkOf('0A read 10 6'),
    });
  });

  test('when the form is wrong then a fitting check sequence does not save it', () => {
    const wrong = ['', '01', '1 stop', '001 stop', '0g stop', '01 ', ' 01 stop', '01 stop ', '01 st0p', '01 stop \x7f'];
    wrong.push('01 stopstopstops', '01 STOP', '01\tstop', '01 stop a  b', '01 stop \xe4', '01 stop a\nb');
    for (const text of wrong) expect(partsOfLine(withCheck(text).slice(0, -1)), text).toBeNull();
    expect(partsOfLine(withCheck('01 stopstopstop').slice(0, -1))).not.toBeNull();
  });

  test('when the check sequence is spelled otherwise then the line is bad', () => {
    expect(partsOfLine('01 who F23F')).not.toBeNull();
    for (const line of ['01 who f23f', '01 who 0F23F', '01 who F23', '01 whoF23F']) {
      expect(partsOfLine(line), line).toBeNull();
    }
  });
});
