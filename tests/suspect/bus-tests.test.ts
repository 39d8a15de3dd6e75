import { expect, it } from 'vitest';
import { addressBusTest, type BusStep, dataBusTest } from '../../src/suspect/bus-tests.js';

/** The cells that a bus test writes. */
const cellsTouched = (test: readonly BusStep[]): number[] =>
  [...new Set(test.flatMap((s) => (s.kind === 'write' ? [s.address] : [])))].sort((a, b) => a - b);

const count = (test: ReturnType<typeof addressBusTest>, kind: string): number =>
  test.filter((s) => s.kind === kind).length;

// M. Barr, "Software-Based Memory Testing", Embedded Systems Programming, July 2000: the counts are computed from its code.
it.each([
  [11, 35, 143],
  [13, 41, 195],
  [15, 47, 255],
  [17, 53, 323],
  [19, 59, 399],
])(
  'when a chip has %i address lines, then the address bus test takes %i writes and %i reads',
  (lines, writes, reads) => {
    const test = addressBusTest(lines);
    expect(count(test, 'write')).toBe(writes);
    expect(count(test, 'read')).toBe(reads);
    expect(cellsTouched(test)).toEqual([0, ...Array.from({ length: lines }, (_, i) => 2 ** i)]);
  },
);

it('when the data bus is tested, then a one walks through one cell and is read each time', () => {
  const test = dataBusTest(5);
  expect(test.filter((s) => s.kind === 'write').map((s) => s.byte)).toEqual([1, 2, 4, 8, 16, 32, 64, 128]);
  expect(test.filter((s) => s.kind === 'read').map((s) => s.expected)).toEqual([1, 2, 4, 8, 16, 32, 64, 128]);
  expect(cellsTouched(test)).toEqual([5]);
});

it('when sound memory is tested, then every judged read is as expected', () => {
  const cells = new Map<number, number>();
  for (const s of addressBusTest(15)) {
    if (s.kind === 'write') cells.set(s.address, s.byte);
    else if (s.expected !== null) expect(cells.get(s.address)).toBe(s.expected);
  }
});
