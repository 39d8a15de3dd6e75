import { expect, it } from 'vitest';
import { seededRandom } from '../../src/ground/random.js';
import { type Image, imageOfBytes } from '../../src/image/image.js';
import { explainReadback } from '../../src/suspect/explain-readback.js';
import type { Permutation } from '../../src/suspect/explanation.js';
import { solvePermutation } from '../../src/suspect/permutation.js';
import { readbackCase } from '../../src/suspect/readback-case.js';
import { controlStore, skerryDisplay } from './display-image.js';

const random = seededRandom(2024);

const shuffled = (count: number): number[] => {
  const list = Array.from({ length: count }, (_, i) => i);
  for (let i = count - 1; i > 0; i--) {
    const j = random.below(i + 1);
    [list[i], list[j]] = [list[j]!, list[i]!];
  }
  return list;
};

/** Bit i of `value` goes to bit `to[i]`; written apart from the product's own maps. */
const moved = (value: number, to: readonly number[]): number =>
  to.reduce((out, target, i) => out + (Math.floor(value / 2 ** i) % 2) * 2 ** target, 0);

const readPermuted = (image: Image, p: Permutation): Uint8Array => {
  const data = Array.from({ length: 256 }, (_, byte) => moved(byte, p.data));
  return image.bytes.map((_, a) => data[image.bytes[moved(a, p.address)]!]!);
};

const images: readonly (readonly [string, number, () => Image])[] = [
  ['a display', 11, skerryDisplay],
  ['a control store', 11, () => controlStore(11, random)],
  ['random bytes', 11, () => imageOfBytes('random', random.bytes(2048))],
  ['a large control store', 15, () => controlStore(15, random)],
  ['many random bytes', 15, () => imageOfBytes('random', random.bytes(32768))],
];

it.each(images)(
  'when all lines of %s change places, then the permutation is found and is the only one, time and again',
  (_, lines, make) => {
    const image = make();
    for (let trial = 0; trial < (lines < 15 ? 40 : 10); trial++) {
      const permutation = { address: shuffled(lines), data: shuffled(8) };
      const found = solvePermutation(readbackCase(image, readPermuted(image, permutation)));
      expect(found).toMatchObject({ permutation, count: 1, countIsExact: true, exchangeable: [] });
    }
  },
);

it('when two address lines and three data lines make no difference, then the ambiguity is counted and its lines are named', () => {
  // f depends on A2 and A5 only through their sum; A7 is not read at all; D0, D1 and D6 carry the same bit.
  const bytes = Uint8Array.from({ length: 1024 }, (_, a) => {
    const sum = ((a >> 2) & 1) + ((a >> 5) & 1);
    const rest = (a & 1) * 3 + ((a >> 1) & 1) * 5 + ((a >> 3) & 1) * 7 + ((a >> 4) & 1) * 11 + ((a >> 6) & 1) * 13;
    const word = sum * 17 + rest + ((a >> 8) & 1) * 19 + ((a >> 9) & 1) * 23;
    return (word & 0xbd) | ((word & 1) * 0x42);
  });
  const image = imageOfBytes('symmetric', bytes);
  const permutation = { address: [3, 1, 2, 0, 4, 5, 6, 7, 8, 9], data: [0, 1, 2, 4, 3, 5, 6, 7] };
  const found = solvePermutation(readbackCase(image, readPermuted(image, permutation)))!;
  expect(found.exchangeable).toContainEqual(['A2', 'A5']);
  expect(found.exchangeable).toContainEqual(['D0', 'D1', 'D6']);
  expect(found.count).toBe(12);
  expect(found.countIsExact).toBe(true);
  for (const other of [found.permutation, ...found.others])
    expect(readPermuted(image, other)).toEqual(readPermuted(image, permutation));
});

it('when no permutation makes the readback, then none is found', () => {
  const image = skerryDisplay();
  const spoiled = image.bytes.slice();
  spoiled[1234]! ^= 4;
  expect(solvePermutation(readbackCase(image, spoiled))).toBeNull();
  expect(solvePermutation(readbackCase(image, random.bytes(2048)))).toBeNull();
});

it('when part of the image is undefined, then the permutation that was made still fits, and the count is called a lower bound', () => {
  const whole = imageOfBytes('random', random.bytes(2048));
  const permutation = { address: shuffled(11), data: shuffled(8) };
  const readback = readPermuted(whole, permutation);
  const defined = Uint8Array.from({ length: 2048 }, (_, a) => (a < 1500 ? 1 : 0));
  const found = solvePermutation(readbackCase({ ...whole, defined }, readback));
  expect(found).toMatchObject({ permutation, countIsExact: false });
});

it('when three lines have gone round in a ring, then it is found', () => {
  const image = skerryDisplay();
  const address = [0, 4, 2, 1, 3, 5, 6, 7, 8, 9, 10];
  const { explanations } = explainReadback(image, readPermuted(image, { address, data: [0, 1, 2, 3, 4, 5, 6, 7] }));
  expect(explanations[0]).toMatchObject({
    kind: 'permutation',
    exact: true,
    permutation: { address },
    cause: { is: 'moved-lines', count: 1 },
  });
});
