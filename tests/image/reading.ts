// Short ways for the tests of this room: text in, cells or mistakes out.
import { ToolError, ToolErrors } from '../../src/ground/errors.js';
import type { Image } from '../../src/image/image.js';
import { type ReadImage, type ReadImageOptions, readImage } from '../../src/image/read-image.js';

export const fileOf = (...lines: string[]): Uint8Array =>
  new Uint8Array(Buffer.from(lines.map((l) => `${l}\n`).join(''), 'latin1'));

export const readText = (text: Uint8Array | string, options: Partial<ReadImageOptions> = {}): ReadImage =>
  readImage(typeof text === 'string' ? new Uint8Array(Buffer.from(text, 'latin1')) : text, { file: 'x', ...options });

/** The mistakes that a file is refused with, as `code line:column`; empty when it is read. */
export function mistakesIn(text: Uint8Array | string, options: Partial<ReadImageOptions> = {}): string[] {
  try {
    readText(text, options);
    return [];
  } catch (error) {
    const errors = error instanceof ToolErrors ? error.errors : error instanceof ToolError ? [error] : [];
    if (errors.length === 0) throw error;
    return errors.map((e) => {
      const place = (e.facts as { place?: { line: number; column: number } }).place;
      return place ? `${e.code} ${place.line}:${place.column}` : e.code;
    });
  }
}

/** The defined cells as [address, byte] in order. */
export const cellsOf = (image: Image, base = 0): [number, number][] =>
  [...image.bytes].flatMap((byte, cell) =>
    image.defined[cell] === 1 ? [[cell + base, byte] as [number, number]] : [],
  );

export const kindsOf = (read: ReadImage): string[] => read.warnings.map((w) => w.kind);
