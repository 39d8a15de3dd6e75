// One small damage to a good file must never give other bytes without a word.
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { ToolError, ToolErrors } from '../../src/ground/errors.js';
import { seededRandom } from '../../src/ground/random.js';
import type { Image } from '../../src/image/image.js';
import { type ReadImage, readImage } from '../../src/image/read-image.js';
import { writeImage } from '../../src/image/write-image.js';

const image: Image = {
  name: 'skerry',
  bytes: seededRandom(7).bytes(64),
  defined: new Uint8Array(64).fill(1),
};
const formats = ['hex', 'srec'] as const;
const good = { hex: writeImage(image, 'hex'), srec: writeImage(image, 'srec') };

const read = (bytes: Uint8Array, format: 'hex' | 'srec'): ReadImage | null => {
  try {
    return readImage(bytes, { file: 'a', format, size: 64 });
  } catch (error) {
    if (error instanceof ToolError || error instanceof ToolErrors) {
      expect(error instanceof ToolError ? error.code : 'several').not.toBe('image.readers-disagree');
      return null;
    }
    throw error;
  }
};

/** Bytes that differ from the image where both say something. */
const wrongBytes = (r: ReadImage): number =>
  r.image.bytes.filter((b, cell) => r.image.defined[cell] === 1 && b !== image.bytes[cell]).length;
const missing = (r: ReadImage): number => r.image.defined.filter((d) => d === 0).length;

const printed = fc.integer({ min: 0, max: 255 });
const edits = fc.record({
  kind: fc.constantFrom('replace', 'insert', 'delete', 'cut'),
  at: fc.double({ min: 0, max: 0.999999, noNaN: true }),
  byte: fc.oneof(printed, fc.constantFrom(...Buffer.from('0123456789ABCDEFabcdef:S-+xG \r\n', 'latin1'))),
});

function damaged(text: Uint8Array, edit: { kind: string; at: number; byte: number }): Uint8Array {
  const at = Math.floor(edit.at * text.length);
  const [before, here, after] = [text.subarray(0, at), text.subarray(at, at + 1), text.subarray(at + 1)];
  const middle = { replace: [edit.byte], insert: [edit.byte, ...here], delete: [], cut: [] }[edit.kind]!;
  return Uint8Array.from([...before, ...middle, ...(edit.kind === 'cut' ? [] : after)]);
}

describe.each(formats)('a %s file', (format) => {
  it('when one character is replaced, inserted or lost, or the file is cut, then no wrong byte is read without a warning', () => {
    fc.assert(
      fc.property(edits, (edit) => {
        const result = read(damaged(good[format], edit), format);
        if (!result) return;
        if (wrongBytes(result) > 0 || missing(result) > 0) expect(result.warnings.length).toBeGreaterThan(0);
      }),
      { numRuns: 3000 },
    );
  });

  it('when any single digit is any other digit, then Intel HEX is refused and S-records are refused or told', () => {
    const text = good[format];
    for (let at = 0; at < text.length; at++) {
      for (const digit of Buffer.from('0123456789ABCDEF')) {
        if (text[at] === digit || !/[0-9A-F]/.test(String.fromCharCode(text[at]!))) continue;
        const result = read(damaged(text, { kind: 'replace', at: (at + 0.5) / text.length, byte: digit }), format);
        if (format === 'hex') expect(result).toBeNull();
        else if (result && (wrongBytes(result) > 0 || missing(result) > 0))
          expect(result.warnings.length).toBeGreaterThan(0);
      }
    }
  });

  it('when a whole line is lost, doubled or swapped with the next, then no byte is wrong and a loss shows', () => {
    const lines = Buffer.from(good[format]).toString('latin1').trimEnd().split('\n');
    const outcomes = lines.flatMap((line, i) => [
      lines.filter((_, j) => j !== i),
      [...lines.slice(0, i + 1), line, ...lines.slice(i + 1)],
      [...lines.slice(0, i), ...lines.slice(i, i + 2).reverse(), ...lines.slice(i + 2)],
    ]);
    for (const changed of outcomes) {
      const result = read(new Uint8Array(Buffer.from(`${changed.join('\n')}\n`, 'latin1')), format);
      if (!result) continue;
      expect(wrongBytes(result)).toBe(0);
      // A lost first or last line leaves no gap inside, but the cells it set are undefined: a job counts them.
      const lost = missing(result);
      if (lost > 0) expect(result.image.defined.length - lost).toBeLessThan(64);
      if (lost > 0 && result.image.defined[0] === 1 && result.image.defined[63] === 1) {
        expect(result.warnings.map((w) => w.kind)).toContain('gap');
      }
    }
  });
});
