import { describe, expect, it } from 'vitest';
import { readImage } from '../../src/image/read-image.js';
import { fileOf, kindsOf, mistakesIn, readText } from './reading.js';

const hexFile = fileOf(':020000001111DC', ':00000001FF');
const srecFile = fileOf('S104000055A6', 'S9030000FC');

describe('the format of a file', () => {
  it.each([
    ['a.hex', hexFile, 'hex'],
    ['a.IHX', hexFile, 'hex'],
    ['a.s19', srecFile, 'srec'],
    ['a.srec', srecFile, 'srec'],
    ['a', hexFile, 'hex'],
    ['a.txt', srecFile, 'srec'],
    ['a.dat', Uint8Array.of(1, 2, 3), 'bin'],
    ['a', new Uint8Array(), 'bin'],
    ['a.bin', hexFile, 'bin'],
  ] as const)('when the file is %s, then name first and content second tell it', (file, bytes, format) => {
    expect(readImage(bytes, { file }).format).toBe(format);
  });

  it('when it is given, then name and content do not count', () => {
    expect(readImage(hexFile, { file: 'a.s19', format: 'bin' }).image.bytes).toEqual(hexFile);
  });

  it('when a raw file looks like records, then it is told', () => {
    expect(kindsOf(readImage(hexFile, { file: 'a.bin' }))).toEqual(['looks-like']);
  });
});

describe('the size of the chip', () => {
  it('when it is known, then the image has it, whatever the file defines', () => {
    for (const [bytes, defined] of [
      [hexFile, 2],
      [srecFile, 1],
      [Uint8Array.of(1, 2, 3), 3],
    ] as const) {
      const { image } = readImage(bytes, { file: 'a', size: 2048 });
      expect(image.bytes.length).toBe(2048);
      expect(image.defined.reduce((sum, d) => sum + d, 0)).toBe(defined);
    }
  });

  it('when a raw file is longer, then it is refused', () => {
    expect(mistakesIn(new Uint8Array(2049), { size: 2048, format: 'bin' })).toEqual(['image.too-large']);
    expect(readImage(new Uint8Array(2048), { file: 'a', size: 2048 }).image.bytes.length).toBe(2048);
  });

  it('when a record reaches its last cell, then it is read; one further, then it is refused', () => {
    const last = ':0207FE001122C6';
    const beyond = ':0207FF001122C5';
    expect(mistakesIn(fileOf(last, ':00000001FF'), { format: 'hex', size: 2048 })).toEqual([]);
    expect(mistakesIn(fileOf(beyond, ':00000001FF'), { format: 'hex', size: 2048 })).toEqual(['image.outside 1:4']);
  });

  it('when the program is linked at a base, then cell 0 is there', () => {
    const lines = fileOf(':028000001122CB'.replace('CB', '4B'), ':00000001FF');
    const { image } = readText(lines, { format: 'hex', base: 0x8000, size: 256 });
    expect([...image.bytes.subarray(0, 2)]).toEqual([0x11, 0x22]);
    expect(mistakesIn(hexFile, { format: 'hex', base: 0x8000, size: 256 })).toEqual(['image.outside 1:4']);
  });
});
