import { describe, expect, it } from 'vitest';
import { sRecordsOf } from '../../src/image/s-record-writer.js';

const linesOf = (...args: Parameters<typeof sRecordsOf>): string[] =>
  sRecordsOf(...args)
    .trimEnd()
    .split('\n');
const headerOf = (name: string): string => {
  const line = linesOf(name, [])[0]!;
  return Buffer.from(line.slice(8, -2), 'hex').toString('latin1');
};

describe('written S-records', () => {
  it('when the last byte lies further up, then address and end records are as long as they must be', () => {
    const typesAt = (address: number): string[] =>
      linesOf('a', [[address, Uint8Array.of(1, 2)]]).map((l) => l.slice(0, 2));
    expect(typesAt(0xfffe)).toEqual(['S0', 'S1', 'S5', 'S9']);
    expect(typesAt(0xffff)).toEqual(['S0', 'S2', 'S5', 'S8']);
    expect(typesAt(0xfffffe)).toEqual(['S0', 'S2', 'S5', 'S8']);
    expect(typesAt(0xffffff)).toEqual(['S0', 'S3', 'S5', 'S7']);
  });

  it('when a block is longer than a record, then the next record goes on where it ended', () => {
    const data = linesOf('a', [[0x20, new Uint8Array(33)]]).filter((l) => l.startsWith('S1'));
    expect(data.map((l) => l.slice(2, 8))).toEqual(['130020', '130030', '040040']);
    expect(linesOf('a', [[0, new Uint8Array(16)]]).filter((l) => l.startsWith('S1'))).toHaveLength(1);
  });

  it('when there are more records than two bytes can count, then an S6 record counts them', () => {
    const blocks = Array.from({ length: 0x10000 }, (_, i): [number, Uint8Array] => [2 * i, Uint8Array.of(1)]);
    const last = (count: number): string => linesOf('a', blocks.slice(0, count)).at(-2)!.slice(0, -2);
    expect(last(0xffff)).toBe('S503FFFF');
    expect(last(0x10000)).toBe('S604010000');
  });

  it.each([
    ['skerry.hex', 'skerry.hex'],
    ['/home/ada/skerry.hex', 'skerry.hex'],
    ['C:\\roms\\skerry.hex', 'skerry.hex'],
    ['Böe.hex', 'B?e.hex'],
    ['x'.repeat(40), 'x'.repeat(32)],
  ])('when the image is called %s, then the header holds the last part, in plain letters', (name, header) => {
    expect(headerOf(name)).toBe(header);
  });
});
