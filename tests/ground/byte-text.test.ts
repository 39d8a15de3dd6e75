import { describe, expect, it } from 'vitest';
import { base64OfBytes, bytesOfBase64, bytesOfText, hex, hexOfBytes, printable } from '../../src/ground/byte-text.js';

// RFC 4648 section 10, test vectors.
const vectors: readonly [string, string, string][] = [
  ['', '', ''],
  ['f', 'Zg==', '66'],
  ['fo', 'Zm8=', '666F'],
  ['foo', 'Zm9v', '666F6F'],
  ['foob', 'Zm9vYg==', '666F6F62'],
  ['fooba', 'Zm9vYmE=', '666F6F6261'],
  ['foobar', 'Zm9vYmFy', '666F6F626172'],
];

describe('bytes as text', () => {
  it.each(vectors)('when RFC 4648 encodes "%s" then ours is the same, both ways', (text, base64, base16) => {
    expect(base64OfBytes(bytesOfText(text))).toBe(base64);
    expect(bytesOfBase64(base64)).toEqual(bytesOfText(text));
    expect(hexOfBytes(bytesOfText(text))).toBe(base16);
  });

  it.each(['Zg', 'Zg=', 'Zh==', 'Zm9=', 'Zm9v\n', 'Zm-_', '====', 'Zg==Zg=='])(
    'when "%s" is not the one spelling then it is refused',
    (text) => {
      expect(bytesOfBase64(text)).toBeNull();
    },
  );

  it('when a number is spelled then in upper case and padded', () => {
    expect(hex(0xab, 4)).toBe('00AB');
    expect(hex(0x12345)).toBe('12345');
  });

  it('when text from outside holds control characters then they are spelled out', () => {
    expect(printable('a\u001b[31mb\u202e\n')).toBe('a\\x1B[31mb\\x202E\\x0A');
  });
});
