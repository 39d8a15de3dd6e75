import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { differenceOf } from '../../src/image/difference.js';
import { type Image, imageOfBytes } from '../../src/image/image.js';

const image = (bytes: number[], defined?: number[]): Image => ({
  name: 'a',
  bytes: Uint8Array.from(bytes),
  defined: Uint8Array.from(defined ?? bytes.map(() => 1)),
});

describe('the difference of two images', () => {
  it('when neighbours differ, then they make one run with both bytes spelled', () => {
    const difference = differenceOf(image([1, 2, 3, 4, 5]), Uint8Array.of(1, 0xff, 0xfe, 4, 0));
    expect(difference).toMatchObject({ same: false, bytes: 3, compared: 5, undefinedCells: 0, missingCells: 0 });
    expect(difference.runs).toEqual([
      { from: 1, to: 2, wanted: '0203', actual: 'FFFE' },
      { from: 4, to: 4, wanted: '05', actual: '00' },
    ]);
  });

  it('when the wanted image does not define a cell, then it is counted and not compared', () => {
    const difference = differenceOf(image([1, 2, 3], [1, 0, 1]), Uint8Array.of(1, 9, 3));
    expect(difference).toMatchObject({ same: true, bytes: 0, compared: 2, undefinedCells: 1 });
  });

  it('when an undefined cell lies between two wrong ones, then the runs stay apart', () => {
    const { runs } = differenceOf(image([1, 2, 3], [1, 0, 1]), Uint8Array.of(0, 0, 0));
    expect(runs.map((r) => [r.from, r.to])).toEqual([
      [0, 0],
      [2, 2],
    ]);
  });

  it('when the actual image ends early, then the missing cells are counted and it is not the same', () => {
    expect(differenceOf(image([1, 2, 3]), Uint8Array.of(1))).toMatchObject({ same: false, bytes: 0, missingCells: 2 });
    expect(differenceOf(image([1]), Uint8Array.of(1, 2, 3))).toMatchObject({ same: true, undefinedCells: 2 });
  });

  it('when a range is given, then only its cells count, both ends included', () => {
    const difference = differenceOf(image([1, 2, 3, 4]), Uint8Array.of(0, 0, 0, 0), { from: 1, to: 2 });
    expect(difference.runs).toEqual([{ from: 1, to: 2, wanted: '0203', actual: '0000' }]);
  });

  it('when a bit is wrong, then bit and direction are counted', () => {
    const { byBit } = differenceOf(image([0b0000, 0b1000]), Uint8Array.of(0b0001, 0b0000));
    expect(byBit[0]).toEqual({ bit: 0, count: 1, zeroToOne: 1, oneToZero: 0 });
    expect(byBit[3]).toEqual({ bit: 3, count: 1, zeroToOne: 0, oneToZero: 1 });
    expect(byBit[7]).toEqual({ bit: 7, count: 0, zeroToOne: 0, oneToZero: 0 });
  });

  it('when all differences lie where one address line is high, then its count says so', () => {
    const wanted = imageOfBytes('a', new Uint8Array(2048));
    const actual = new Uint8Array(2048).map((_, cell) => (cell & 0x200 ? 0xff : 0));
    const { byAddressLine } = differenceOf(wanted, actual);
    expect(byAddressLine.length).toBe(11);
    expect(byAddressLine[9]).toEqual({ line: 9, low: 0, high: 1024, varies: true });
    expect(byAddressLine[0]).toEqual({ line: 0, low: 512, high: 512, varies: true });
  });

  it('when a line has one level wherever anything was compared, then it is told as one that tells nothing', () => {
    const wanted = {
      ...imageOfBytes('a', new Uint8Array(256)),
      defined: new Uint8Array(256).map((_, a) => (a & 4 ? 0 : 1)),
    };
    const { byAddressLine } = differenceOf(
      wanted,
      new Uint8Array(256).map((_, a) => a & 1),
    );
    expect(byAddressLine.slice(0, 3).map(({ varies, low }) => [varies, low])).toEqual([
      [true, 0],
      [true, 32],
      [false, 64],
    ]);
  });

  it('when both are empty, then they are the same', () => {
    expect(differenceOf(image([]), new Uint8Array())).toMatchObject({ same: true, bytes: 0, byAddressLine: [] });
  });

  it('when any two images are compared, then every count agrees with counting cell by cell', () => {
    const cell = fc.tuple(fc.constantFrom(0, 1, 255), fc.constantFrom(0, 1, 255), fc.constantFrom(0, 1, 1));
    fc.assert(
      fc.property(fc.array(cell, { maxLength: 600 }), (cells) => {
        const wanted = image(
          cells.map((c) => c[0]),
          cells.map((c) => c[2]),
        );
        const actual = Uint8Array.from(cells.map((c) => c[1]));
        const wrong = cells.flatMap(([w, a, d], address) => (d === 1 && w !== a ? [{ address, w, a }] : []));
        const difference = differenceOf(wanted, actual);
        expect(difference.bytes).toBe(wrong.length);
        expect(difference.same).toBe(wrong.length === 0);
        expect(difference.compared + difference.undefinedCells).toBe(cells.length);
        const inRuns = difference.runs.flatMap((r) => Array.from({ length: r.to - r.from + 1 }, (_, i) => r.from + i));
        expect(inRuns).toEqual(wrong.map((x) => x.address));
        for (const r of difference.runs) expect(r.wanted.length).toBe(2 * (r.to - r.from + 1));
        for (const { bit, count } of difference.byBit) {
          expect(count).toBe(wrong.filter((x) => ((x.w ^ x.a) >> bit) & 1).length);
        }
        for (const { line, high, low } of difference.byAddressLine) {
          expect(high).toBe(wrong.filter((x) => (x.address >> line) & 1).length);
          expect(low + high).toBe(wrong.length);
        }
      }),
      { numRuns: 60 },
    );
  });
});
