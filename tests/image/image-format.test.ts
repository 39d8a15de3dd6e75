import { describe, expect, it } from 'vitest';
import { formatOfContent, formatOfName } from '../../src/image/image-format.js';

describe('the format of an image file', () => {
  it.each([
    ['a.hex', 'hex'],
    ['dir.hex/a.BIN', 'bin'],
    ['a.hex.bin', 'bin'],
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
  ])('when the content begins %j, then the first record tells', (text, format) => {
    expect(formatOfContent(new Uint8Array(Buffer.from(text, 'latin1')))).toBe(format);
  });
});
