import { describe, expect, it } from 'vitest';
import { formatOfContent, formatOfName } from '../../src/image/image-format.js';

describe('the format of an image file', () => {
  it.each([
    ['a.hex', 'hex'],
    ['dir.hex/a.BIN', 'bin'],
    ['a.hex.bin', 'bin'],
    ['a.memh', 'memh'],
    ['a.MEM', 'memh'],
    ['a.hex~', null],
    ['a', null],
    ['hex', null],
    ['a.', null],
    ['a.constructor', null],
    ['a.txt', null],
  ])('when the name is %s, then its ending alone tells', (file, format) => {
    expect(formatOfName(file)).toBe(format);
  });

  it.each([
    [':00000001FF', 'hex'],
    [':00000001FF\n', 'hex'],
    [' \r\n:00000001ff \r\n', 'hex'],
    [':0000000', 'bin'],
    [':00000001FFx\n', 'bin'],
    [':00000001F\n', 'bin'],
    ['x:00000001FF\n', 'bin'],
    ['S9030000FC', 'srec'],
    ['S9030000FC\r\n', 'srec'],
    ['\nS9030000FC \n', 'srec'],
    ['S903000', 'bin'],
    ['S9030000FCx\n', 'bin'],
    ['S9030000F\n', 'bin'],
    ['xS9030000FC\n', 'bin'],
    ['@0 12', 'memh'],
    ['// of a board\n/* two\nlines */ @1F_00\n00 FF\tXx 1_0 // more\n', 'memh'],
    ['12 34 56', 'bin'],
    ['@0 12 hello', 'bin'],
    ['@', 'bin'],
    ['', 'bin'],
  ])('when the content begins %j, then the first record tells', (text, format) => {
    expect(formatOfContent(new Uint8Array(Buffer.from(text, 'latin1')))).toBe(format);
  });

  it('when only the beginning is looked at then it may end anywhere, also inside a comment', () => {
    for (let spaces = 0; spaces < 8; spaces++) {
      const text = `@0 ${' '.repeat(spaces)}${'/* */12 '.repeat(200)}`;
      expect(formatOfContent(new Uint8Array(Buffer.from(text, 'latin1'))), String(spaces)).toBe('memh');
    }
  });
});
