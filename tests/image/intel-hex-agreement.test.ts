import { describe, expect, it } from 'vitest';
import { ToolError } from '../../src/ground/errors.js';
import { imageOfBytes } from '../../src/image/image.js';
import { agreeWithIntelHexPackage } from '../../src/image/intel-hex-agreement.js';
import { fileOf } from './reading.js';

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
