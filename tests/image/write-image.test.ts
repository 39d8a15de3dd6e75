import fc from 'fast-check';
import intelHex from 'intel-hex';
import nrfIntelHex from 'nrf-intel-hex';
import { describe, expect, it } from 'vitest';
import { seededRandom } from '../../src/ground/random.js';
import { type Image, imageOfBytes } from '../../src/image/image.js';
import { imageFormats } from '../../src/image/image-format.js';
import { readImage } from '../../src/image/read-image.js';
import { filledBytes, writeImage } from '../../src/image/write-image.js';
import { randomImage } from './random-image.js';
import { cellsOf } from './reading.js';

const MemoryMap = nrfIntelHex as unknown as typeof nrfIntelHex.default;

const cell = fc.tuple(fc.integer({ min: 0, max: 255 }), fc.constantFrom(0, 1, 1, 1));
const anyImage = fc.array(cell, { minLength: 1, maxLength: 300 }).map(
  (cells): Image => ({
    name: 'a',
    bytes: Uint8Array.from(cells.map((c) => c[0])),
    defined: Uint8Array.from(cells.map((c) => c[1])),
  }),
);

describe('an image that is written', () => {
  it('when records are read again, then the same cells are defined with the same bytes', () => {
    const base = fc.constantFrom(0, 1, 0xfff0, 0xff80, 0x8000, 0x12345, 0xfffff0, 0x7fff0000);
    fc.assert(
      fc.property(
        anyImage,
        base,
        fc.constantFrom('hex' as const, 'srec' as const, 'memh' as const),
        (image, at, format) => {
          const text = writeImage(image, format, { base: at });
          const read = readImage(text, { file: 'a', format, base: at, size: image.bytes.length });
          expect(read.image.defined).toEqual(image.defined);
          expect(cellsOf(read.image)).toEqual(cellsOf(image));
          expect(read.warnings.filter((w) => w.kind !== 'gap' && w.kind !== 'empty')).toEqual([]);
        },
      ),
      { numRuns: 200 },
    );
  });

  it('when raw bytes are read again, then every cell is there and holes are FF or what is asked for', () => {
    const image: Image = { name: 'a', bytes: Uint8Array.of(1, 2, 3), defined: Uint8Array.of(1, 0, 1) };
    expect(writeImage(image, 'bin')).toEqual(Uint8Array.of(1, 0xff, 3));
    expect(writeImage(image, 'bin', { fill: 0 })).toEqual(Uint8Array.of(1, 0, 3));
    expect(cellsOf(readImage(writeImage(image, 'bin'), { file: 'a.bin' }).image).length).toBe(3);
  });

  it('when nothing is defined, then every format is still a whole file', () => {
    const image: Image = { name: 'a', bytes: new Uint8Array(4), defined: new Uint8Array(4) };
    for (const format of imageFormats) {
      expect(readImage(writeImage(image, format), { file: 'a', format, size: 4 }).image.bytes.length).toBe(4);
    }
  });

  it('when it is written twice, then the files are equal', () => {
    const image = randomImage(seededRandom(5), 5000);
    for (const format of imageFormats) expect(writeImage(image, format)).toEqual(writeImage(image, format));
  });

  it('when S-records are written, then header, count and end stand where they belong', () => {
    const text = Buffer.from(writeImage(imageOfBytes('skerry', Uint8Array.of(0x55)), 'srec')).toString('latin1');
    expect(text.split('\n')).toEqual(['S0090000736B6572727956', 'S104000055A6', 'S5030001FB', 'S9030000FC', '']);
  });
});

describe('Intel HEX as other readers see it', () => {
  it.each([1, 2, 3, 4])(
    'when intel-hex and nrf-intel-hex read what was written (seed %i), then they see the same cells',
    (seed) => {
      const image = randomImage(seededRandom(seed), 0x20000);
      const text = Buffer.from(writeImage(image, 'hex')).toString('latin1');
      const { data } = intelHex.parse(text);
      const end = image.defined.lastIndexOf(1) + 1;
      expect(Buffer.compare(data, filledBytes(image).subarray(0, end))).toBe(0);
      const map = MemoryMap.fromHex(text.trimEnd());
      const seen = [...map].flatMap(([address, bytes]) => [...bytes].map((b, i): [number, number] => [address + i, b]));
      expect(seen).toEqual(cellsOf(image));
    },
  );
});
