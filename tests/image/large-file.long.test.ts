// Files and images far larger than any chip: read and compared within a bound of memory.
import { describe, expect, it } from 'vitest';
import { differenceOf } from '../../src/image/difference.js';
import { imageOfBytes } from '../../src/image/image.js';
import { writeImage } from '../../src/image/write-image.js';
import { mistakesIn } from './reading.js';

describe('a hostile file', () => {
  const size = 50_000_000;
  const rssMb = () => process.resourceUsage().maxRSS / 1024;
  const filled = (text: string): Uint8Array => new Uint8Array(Buffer.alloc(size, text, 'latin1').buffer);
  const valid = (): Uint8Array => {
    const one = writeImage(
      imageOfBytes(
        'a',
        new Uint8Array(0x10000).map((_, i) => i * 7),
      ),
      'hex',
    );
    const text = Buffer.alloc(size, one.subarray(0, one.length - 12));
    const end = text.lastIndexOf('\n') + 1;
    return new Uint8Array(Buffer.concat([text.subarray(0, end), Buffer.from(':00000001FF\n')]));
  };

  it.each([
    ['NUL bytes', () => filled('\0'), 'image.character 1:1'],
    ['one line of digits', () => filled(':1'), 'image.character 1:3'],
    [
      'one enormous record',
      () => new Uint8Array(Buffer.alloc(size, '0').fill(':', 0, 1)),
      `image.record-shape 1:${size}`,
    ],
    ['blank lines', () => filled('\n'), `image.no-end ${size + 1}:1`],
    ['junk lines', () => filled('x\n'), 'image.character 1:1'],
    ['the same good records again and again', valid, undefined],
  ])('when 50 MB of %s are read, then it ends within 256 MB more memory', (_, make, wanted) => {
    const text = make();
    const before = rssMb();
    expect(mistakesIn(text, { format: 'hex' })[0]).toBe(wanted);
    expect(rssMb() - before).toBeLessThan(256);
  });
});

describe('a large difference', () => {
  it('when every second cell of 512 KiB differs, then all runs are said', () => {
    const wanted = imageOfBytes('a', new Uint8Array(0x80000));
    const { runs, bytes } = differenceOf(
      wanted,
      new Uint8Array(0x80000).map((_, i) => i & 1),
    );
    expect([runs.length, bytes]).toEqual([0x40000, 0x40000]);
    expect(runs[0]).toEqual({ from: 1, to: 1, wanted: '00', actual: '01' });
  });
});
