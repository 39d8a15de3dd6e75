// GNU objcopy as an outside judge: what it writes is read here, what is written here it reads, byte for byte.
import { execFileSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { seededRandom } from '../../src/ground/random.js';
import { differenceOf } from '../../src/image/difference.js';
import { imageOfBytes } from '../../src/image/image.js';
import { readImage } from '../../src/image/read-image.js';
import { filledBytes, writeImage } from '../../src/image/write-image.js';
import { systemTool } from '../support/system-tools.js';
import { randomImage } from './random-image.js';

describe.skipIf(!systemTool('objcopy'))('GNU objcopy', () => {
  let folder = '';
  beforeAll(() => {
    folder = mkdtempSync(join(tmpdir(), 'objcopy-'));
  });
  afterAll(() => rmSync(folder, { recursive: true, force: true }));

  const names = { bin: 'binary', hex: 'ihex', srec: 'srec' } as const;
  type Format = keyof typeof names;
  const convert = (bytes: Uint8Array, from: Format, to: Format, ...more: string[]): Uint8Array => {
    const [input, output] = [join(folder, 'in'), join(folder, 'out')];
    writeFileSync(input, bytes);
    execFileSync('objcopy', ['-I', names[from], '-O', names[to], ...more, input, output]);
    return new Uint8Array(readFileSync(output));
  };

  const seeds = [11, 12, 13, 14, 15, 16];
  const records = ['hex', 'srec'] as const;

  it.each(seeds)(
    'when it turns our records into raw bytes (seed %i), then they are the image with FF in its holes',
    (seed) => {
      const image = randomImage(seededRandom(seed), 0x30000);
      const [first, last] = [image.defined.indexOf(1), image.defined.lastIndexOf(1)];
      for (const format of records) {
        const raw = convert(writeImage(image, format), format, 'bin', '--gap-fill', '0xff');
        expect(Buffer.compare(raw, filledBytes(image).subarray(first, last + 1)), format).toBe(0);
      }
    },
  );

  it.each(seeds)('when it writes our records anew (seed %i), then the same cells are read from them', (seed) => {
    const image = randomImage(seededRandom(seed), 0x30000);
    for (const from of records) {
      for (const to of records) {
        const read = readImage(convert(writeImage(image, from), from, to), {
          file: 'out',
          format: to,
          size: image.bytes.length,
        });
        expect(Buffer.compare(read.image.defined, image.defined), `${from} to ${to}`).toBe(0);
        expect(differenceOf(image, read.image).same, `${from} to ${to}`).toBe(true);
      }
    }
  });

  it.each([
    ['hex', 0],
    ['hex', 0x8000],
    ['hex', 0xf0000],
    ['hex', 0x12340000],
    ['srec', 0],
    ['srec', 0x8000],
    ['srec', 0xf0000],
    ['srec', 0xcafe0000],
  ] as const)(
    'when it writes raw bytes as %s from address %i on, then the bytes are read from there',
    (format, base) => {
      const bytes = seededRandom(base + 1).bytes(70_000);
      const text = convert(bytes, 'bin', format, '--change-addresses', `0x${base.toString(16)}`);
      const read = readImage(text, { file: 'out', format, base });
      expect(read.image.bytes.length).toBe(bytes.length);
      expect(differenceOf(imageOfBytes('in', bytes), read.image).same).toBe(true);
      expect(read.warnings).toEqual([]);
    },
  );
});
