// The second opinion on an Intel HEX file: the intel-hex package decodes what the strict reader passed, and both must agree.
import intelHex from 'intel-hex';
import { ToolError } from '../ground/errors.js';
import type { Image } from './image.js';

/**
 * Throws image.readers-disagree where the package reads another byte than `image` holds, or sets a cell that the image does
 * not define. Hand it only text that the strict reader found good and in bounds: the package takes memory up to twice the
 * highest address, and can loop for ever on bad text (measured with 0.2.0).
 */
export function agreeWithIntelHexPackage(text: Uint8Array, file: string, image: Image, base: number): void {
  const { data } = intelHex.parse(Buffer.from(text.buffer, text.byteOffset, text.length), undefined, base);
  const unset = 0xff;
  for (let cell = 0; cell < Math.max(data.length, image.bytes.length); cell++) {
    const wanted = image.defined[cell] === 1 ? image.bytes[cell]! : unset;
    const actual = data[cell] ?? (image.defined[cell] === 1 ? null : unset);
    if (actual !== wanted) throw new ToolError('image.readers-disagree', { file, address: cell + base });
  }
}
