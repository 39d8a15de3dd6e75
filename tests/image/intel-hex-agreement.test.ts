import intelHex from 'intel-hex';
import { afterEach, describe, expect, it, vi } from 'vitest';
import { ToolError } from '../../src/ground/errors.js';
import { imageOfBytes } from '../../src/image/image.js';
import { agreeWithIntelHexPackage } from '../../src/image/intel-hex-agreement.js';
import { fileOf, mistakesIn } from './reading.js';

const text = fileOf(':020000001122CB', ':00000001FF');
const agree = (bytes: number[], defined?: number[]) => () =>
  agreeWithIntelHexPackage(
    text,
    'a.hex',
    { ...imageOfBytes('a', Uint8Array.from(bytes)), ...(defined && { defined: Uint8Array.from(defined) }) },
    0,
  );

describe('the second opinion on an Intel HEX file', () => {
  it('when both readers see the same cells, then nothing happens', () => {
    expect(agree([0x11, 0x22])).not.toThrow();
    expect(agree([0x11, 0x22, 0, 0], [1, 1, 0, 0])).not.toThrow();
  });

  it.each([
    [[0x11, 0x23], undefined],
    [
      [0x11, 0x22],
      [1, 0],
    ],
    [[0x11], undefined],
    [[0x11, 0x22, 0x33], undefined],
  ])('when they see different cells, then the file is refused as our fault', (bytes, defined) => {
    try {
      agree(bytes, defined)();
      expect.unreachable();
    } catch (error) {
      expect(ToolError.is(error, 'image.readers-disagree') && error.exit).toBe(70);
    }
  });
});

describe('when the second opinion is asked', () => {
  /** The package sees other bytes than anybody wrote. */
  const blinded = () => vi.spyOn(intelHex, 'parse').mockReturnValue({ data: Buffer.of(0x99) });
  afterEach(() => void vi.restoreAllMocks());

  it('when a plain file is read, then it is asked, and without agreement the file is not used', () => {
    const asked = blinded();
    expect(mistakesIn(text, { format: 'hex' })).toEqual(['image.readers-disagree']);
    expect(asked).toHaveBeenCalledOnce();
  });

  it('when the program is linked at a base, then the address told is that of the file', () => {
    blinded();
    const error = () => agreeWithIntelHexPackage(text, 'a.hex', imageOfBytes('a', Uint8Array.of(0x99, 0x22)), 0x8000);
    expect(error).toThrow(expect.objectContaining({ facts: { file: 'a.hex', address: 0x8001 } }));
  });

  it.each([
    ['a record wraps in its segment', [':02FFFF001122CD', ':00000001FF'], { size: 0x10000 }],
    ['there are blank lines', ['', ':020000001122CB', ':00000001FF'], {}],
    ['a byte lies above 7FFFFFFF', [':020000048000' + '7A', ':020000001122CB', ':00000001FF'], { base: 0x80000000 }],
  ])('when %s, then the strict reader decides alone', (_, lines, options) => {
    const asked = blinded();
    expect(mistakesIn(fileOf(...lines), { format: 'hex', ...options })).toEqual([]);
    expect(asked).not.toHaveBeenCalled();
  });

  it('when the last byte lies at 7FFFFFFF, then it is asked still', () => {
    const asked = blinded();
    const lines = fileOf(':020000047FFF7C', ':01FFFF0011F0', ':00000001FF');
    expect(mistakesIn(lines, { format: 'hex', base: 0x7fffffff })).toEqual(['image.readers-disagree']);
    expect(asked).toHaveBeenCalledOnce();
  });

  it('when the file is wrong anyway, then it is not asked', () => {
    const asked = blinded();
    expect(mistakesIn(fileOf(':020000001122CC', ':00000001FF'), { format: 'hex' })).toHaveLength(1);
    expect(asked).not.toHaveBeenCalled();
  });
});
