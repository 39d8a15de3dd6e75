import { describe, expect, it } from 'vitest';
import { differenceOf } from '../../src/image/difference.js';
import { imageOfBytes } from '../../src/image/image.js';
import { constantLine, oneLineOf, oneLineOfCells } from '../../src/image/one-line.js';

const wanted = imageOfBytes(
  'skerry',
  Uint8Array.from({ length: 64 }, (_, i) => i * 4),
);
const range = { from: 0, to: 63 };

const lineOf = (read: (byte: number, cell: number) => number, within = range) => {
  const actual = imageOfBytes('readback', wanted.bytes.map(read));
  return oneLineOf(differenceOf(wanted, actual, within), wanted, actual, within);
};

describe('a difference of one data line', () => {
  it('when the line reads one level in every cell then line and level are told', () => {
    expect(lineOf((byte) => byte | 0x08)).toEqual({ line: 3, level: 1, alone: true });
    expect(lineOf((byte) => byte & ~0x80)).toEqual({ line: 7, level: 0, alone: true });
  });

  it('when it reads now this, now that, or one level is all that is wanted, then the line alone is told', () => {
    expect(lineOf((byte, cell) => (cell < 32 ? byte ^ 0x10 : byte))).toEqual({ line: 4, level: null, alone: true });
    expect(lineOf((byte) => byte | 0x01)).toEqual({ line: 0, level: null, alone: true });
  });

  it('when two lines differ, or none, then there is no such line', () => {
    expect(lineOf((byte) => byte | 0x18)).toBeNull();
    expect(lineOf((byte) => byte)).toBeNull();
  });

  it('when cells outside the range, or not defined, read otherwise then they say nothing', () => {
    expect(lineOf((byte, cell) => (cell < 32 ? byte | 0x08 : byte), { from: 0, to: 31 })).toEqual({
      line: 3,
      level: 1,
      alone: true,
    });
    const half = { ...wanted, defined: wanted.defined.map((_, cell) => (cell < 32 ? 1 : 0)) };
    const actual = imageOfBytes(
      'readback',
      wanted.bytes.map((byte, cell) => (cell < 32 ? byte | 0x08 : byte)),
    );
    expect(oneLineOf(differenceOf(half, actual, range), half, actual, range)).toEqual({
      line: 3,
      level: 1,
      alone: true,
    });
  });

  it('when only some cells are known then two of them are needed, and they have to agree', () => {
    const cell = (from: number, to: number) => ({ wanted: from, actual: to });
    expect(oneLineOfCells([cell(0x00, 0x08), cell(0x41, 0x49)])).toEqual({ line: 3, level: 1, alone: true });
    expect(oneLineOfCells([cell(0x08, 0x00), cell(0x49, 0x41)])).toEqual({ line: 3, level: 0, alone: true });
    expect(oneLineOfCells([cell(0x08, 0x00), cell(0x41, 0x49)])).toEqual({ line: 3, level: null, alone: true });
    expect(oneLineOfCells([cell(0x00, 0x08), cell(0x41, 0x51)])).toBeNull();
    expect(oneLineOfCells([cell(0x00, 0x08)])).toBeNull();
    expect(oneLineOfCells([])).toBeNull();
  });
});

describe('a data line that reads one level in every cell', () => {
  /** The first cells as they were wanted, the others blank, and all behind a wire. */
  const halfWritten = (wire: (byte: number) => number, cells = 32) => {
    const actual = imageOfBytes(
      'readback',
      wanted.bytes.map((byte, cell) => wire(cell < cells ? byte ^ (cell & 1 ? 0x03 : 0) : 0xff)),
    );
    return constantLine(wanted, actual, range);
  };

  it('when every other line reads both then it is told, though others differ too', () => {
    expect(halfWritten((byte) => byte & ~0x40)).toEqual({ line: 6, level: 0, alone: false });
    expect(halfWritten((byte) => (byte & ~0x80) | 0x10)).toBeNull();
    expect(halfWritten((byte) => byte & ~0x80)).toEqual({ line: 7, level: 0, alone: false });
  });

  it('when none does, or all as on a blank chip, or what is wanted has that level nearly everywhere, then none is told', () => {
    expect(halfWritten((byte) => byte)).toBeNull();
    expect(halfWritten((byte) => byte, 0)).toBeNull();
    const lowThere = { ...wanted, bytes: wanted.bytes.map((byte, cell) => (cell === 40 ? byte : byte & ~0x40)) };
    const actual = imageOfBytes(
      'readback',
      wanted.bytes.map((byte, cell) => (cell < 32 ? byte ^ 3 : 0xff) & ~0x40),
    );
    expect(constantLine(lowThere, actual, range)).toBeNull();
  });
});
