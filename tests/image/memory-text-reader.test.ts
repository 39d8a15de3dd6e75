// Memory text as IEEE Std 1364-2005 describes it for $readmemh (clause 17.2.9), and the mistakes in it.
import { describe, expect, it } from 'vitest';
import { cellsOf, kindsOf, mistakesIn, readText } from './reading.js';

const format = { format: 'memh' } as const;
const cells = (text: string): [number, number][] => cellsOf(readText(text, format).image);

describe('memory text', () => {
  it('when bytes follow each other then each goes into the next cell, however they are spaced', () => {
    const bytes = [
      [0, 0x12],
      [1, 0xab],
      [2, 0x0c],
    ];
    for (const text of [
      '12 ab C',
      '12\n\tAB\f0c\r\n',
      '1_2 aB _0'.replace('_0', '0c'),
      '12//x\nab/* y\n z */0c',
      '/**/12 ab 0C//',
    ])
      expect(cells(text), text).toEqual(bytes);
  });

  it('when an address stands before them then they go there, in any order', () => {
    expect(cells('@10 01 02 @4 // back\n 03')).toEqual([
      [4, 3],
      [0x10, 1],
      [0x11, 2],
    ]);
    expect(cells('@1_0 01')).toEqual([[0x10, 1]]);
    expect(cells('')).toEqual([]);
    expect(kindsOf(readText('// nothing', format))).toEqual(['empty']);
    expect(cellsOf(readText('@8002 07', { ...format, base: 0x8000 }).image)).toEqual([[2, 7]]);
  });

  it('when a byte is x or z then its cell is left undefined', () => {
    const { image } = readText('01 xx 02 z X_X zz 03', format);
    expect([...image.defined]).toEqual([1, 0, 1, 0, 0, 0, 1]);
  });

  it.each([
    ['01 1x', 'image.memory-text 1:4'],
    ['01 zF', 'image.memory-text 1:4'],
    ['01\n 123', 'image.memory-text 2:2'],
    ['01 0012', 'image.memory-text 1:4'],
    ['@ 10', 'image.memory-text 1:1'],
    ['@', 'image.memory-text 1:1'],
    ['@xx', 'image.memory-text 1:1'],
    ['@123456789', 'image.memory-text 1:1'],
    ['@_1', 'image.memory-text 1:1'],
    ['_1', 'image.memory-text 1:1'],
    ['0x12', 'image.memory-text 1:1'],
    ["8'h12", 'image.memory-text 1:1'],
    ['12, 34', 'image.memory-text 1:1'],
    ['12 /34', 'image.memory-text 1:4'],
    ['12 /* 34\n\n', 'image.memory-text 1:4'],
    ['12 /*/', 'image.memory-text 1:4'],
    ['12 @0 13', 'image.overlap 1:7'],
    ['@100 1', 'image.outside 1:6'],
    [':00000001FF', 'image.memory-text 1:1'],
  ])('when %j is read then it is refused at its place', (text, mistake) => {
    expect(mistakesIn(text, { ...format, size: 0x100 })).toEqual([mistake]);
  });

  it('when the mistakes are said then what would be right is said', () => {
    expect(() => readText('1x', format)).toThrow(/a byte of which one half is not known: "1x"/);
    expect(() => readText('1234', format)).toThrow(/a word of 4 digits/);
    expect(mistakesIn(Array.from({ length: 50 }, () => 'hello').join('\n'), format)).toHaveLength(10);
  });

  it('when the same byte is set again then that is a warning', () => {
    expect(kindsOf(readText('12 @0 12', format))).toEqual(['same-bytes-twice']);
  });
});
