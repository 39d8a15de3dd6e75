// Memory text, read strictly: what Verilog's $readmemh loads (IEEE Std 1364-2005, clause 17.2.9), one byte a word.
import { type CellBounds, CellMap } from './cell-map.js';
import type { Image } from './image.js';
import type { ReadingLog } from './reading-log.js';

/** White space, both kinds of comment, or a word of anything else. An opened comment that never ends runs to the end of the text. */
const tokens = /[ \t\n\r\f]+|\/\/[^\n]*|\/\*[\s\S]*?(?:\*\/|$)|(?:(?!\/[/*])[^ \t\n\r\f])+/g;

/** The longest word that is read: an address has at most eight digits. */
const digitsMax = 64;

interface Place {
  readonly file: string;
  readonly line: number;
  readonly column: number;
}

/** Reads memory text. Mistakes go to the log; the image counts only when the log stays clean. */
export function readMemoryText(text: Uint8Array, file: string, bounds: CellBounds, log: ReadingLog): Image {
  const cells = new CellMap(bounds, log);
  let address = bounds.base;
  let line = 1;
  let lineStart = 0;
  const wrong = (place: Place, problem: string, right: string): null =>
    log.mistake('image.memory-text', { place, problem, right });
  for (const { 0: token, index } of Buffer.from(text).toString('latin1').matchAll(tokens)) {
    if (log.full) break;
    const column = index - lineStart + 1;
    const place = { file, line, column };
    if (token.startsWith('/*') && (token.length < 4 || !token.endsWith('*/'))) {
      wrong(place, 'a comment that does not end', 'A comment begins with /* and ends with */.');
    } else if (token.startsWith('@')) {
      address = addressOf(token, place, wrong) ?? address;
    } else if (!isGap(token)) {
      const byte = byteOf(token, place, wrong);
      if (typeof byte === 'number') {
        cells.put(address, Uint8Array.of(byte), { file, line, addressColumn: column, dataColumn: column });
      }
      address += 1;
    }
    for (let at = token.indexOf('\n'); at >= 0; at = token.indexOf('\n', at + 1)) {
      line += 1;
      lineStart = index + at + 1;
    }
  }
  return cells.image(file);
}

/** True where a text begins with an address and holds nothing else than memory text; bytes alone could be anything. */
export function startsMemoryText(start: string): boolean {
  // Where the text was cut it may end in half of what opens a comment.
  const words = [...start.replace(/\/$/, '').matchAll(tokens)].map(([token]) => token).filter((token) => !isGap(token));
  return words[0]?.startsWith('@') === true && words.every((word) => /^@?[\da-fxz_]+$/i.test(word));
}

const isGap = (token: string): boolean => /^(?:[ \t\n\r\f]|\/[/*])/.test(token);

type Wrong = (place: Place, problem: string, right: string) => null;

function addressOf(token: string, place: Place, wrong: Wrong): number | null {
  const digits = token.slice(1).replace(/_/g, '');
  if (/^[\da-f]{1,8}$/i.test(digits) && !token.startsWith('@_')) return Number.parseInt(digits, 16);
  return wrong(
    place,
    `no address: ${shown(token)}`,
    'An address is @ and up to eight hexadecimal digits, such as @1F00.',
  );
}

/** The byte of a word; 'undefined' where all its digits are x or z, which stand for a value that nobody knows. */
function byteOf(token: string, place: Place, wrong: Wrong): number | 'undefined' | null {
  const digits = token.replace(/_/g, '');
  if (token.startsWith('_') || token.length > digitsMax || !/^[\da-fxz]+$/i.test(digits)) {
    return wrong(
      place,
      `no byte: ${shown(token)}`,
      'A byte is one or two hexadecimal digits; comments begin with // or /*.',
    );
  }
  if (digits.length > 2) {
    const right =
      'Each word of this file is one byte, two digits at most. Memory of wider words takes one file for each chip.';
    return wrong(place, `a word of ${digits.length} digits`, right);
  }
  const unknown = digits.replace(/[^xz]/gi, '').length;
  if (unknown === 0) return Number.parseInt(digits, 16);
  if (unknown === digits.length) return 'undefined';
  return wrong(
    place,
    `a byte of which one half is not known: ${shown(token)}`,
    'A chip holds whole bytes: write both digits, or xx for a byte that is left alone.',
  );
}

const shown = (token: string): string => `"${token.length > 20 ? `${token.slice(0, 20)}...` : token}"`;
