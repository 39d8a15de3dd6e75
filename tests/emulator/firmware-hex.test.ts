// The loader of the firmware's .hex.
import { expect, test } from 'vitest';
import { flashOfHex } from '../../src/emulator/firmware-hex.js';
import { hexOfWords } from './avr-program.js';

test('when a program is loaded, then its words lie in flash, low byte first, and the rest is FFFF', () => {
  const flash = flashOfHex(hexOfWords([0x1234, 0xabcd]));
  expect([flash[0], flash[1], flash[2], flash.length]).toEqual([0x1234, 0xabcd, 0xffff, 16384]);
});

test.each([
  ['hello', 1, /no Intel HEX/],
  [':0200000034128B8\n:00000001FF', 1, /no Intel HEX/],
  [':020000003412B8', 1, /no end record/],
  [':020000003412B9\n:00000001FF', 1, /check sum/],
  [':030000003412B7\n:00000001FF', 1, /length/],
  [':02800000341238\n:00000001FF', 1, /beyond/],
  [':020000040001F9\n:00000001FF', 1, /upper address/],
  [':00000001FF\n:020000003412B8', 2, /after the end/],
])('when the text is %j, then line %i is refused', (text, line, reason) => {
  expect(() => flashOfHex(text)).toThrow(expect.objectContaining({ code: 'emulator.firmware' }));
  expect(() => flashOfHex(text)).toThrow(new RegExp(`line ${line}`));
  expect(() => flashOfHex(text)).toThrow(reason);
});
