// Addresses in all that suspects and the rig check say, in the one spelling that verify and compare use.
import { describe, expect, it } from 'vitest';
import { findPart } from '../../src/chip/chip-table.js';
import { seededRandom } from '../../src/ground/random.js';
import { imageOfBytes } from '../../src/image/image.js';
import { addressText } from '../../src/report/quantity.js';
import { rigWords } from '../../src/report/rig-words.js';
import { readbackVerdictText } from '../../src/report/suspect-text.js';
import { readbackWords } from '../../src/report/suspect-words.js';
import { dataBusTest } from '../../src/suspect/bus-tests.js';
import { explainReadback } from '../../src/suspect/explain-readback.js';
import { judgeRig } from '../../src/suspect/judge-rig.js';
import { readNaively } from '../suspect/naive-reader.js';

const random = seededRandom(6);

/** Hexadecimal numbers of three digits or more without 0x: a leading zero or a letter tells them from counts; A10 is a line. */
const bareHex = /\b(?![AD]\d+\b)(?:0[0-9A-F]{2,}|(?=[0-9A-F]*[A-F])(?=[0-9A-F]*[0-9])[0-9A-F]{3,})\b/g;
const afterPrefix = /0x([0-9A-Fa-f]*)/g;

const expectOneSpelling = (text: string, digits: number): void => {
  expect(text.match(bareHex) ?? [], text).toEqual([]);
  for (const [word, number] of text.matchAll(afterPrefix)) expect(number, `${word} in ${text}`).toHaveLength(digits);
};

const damaged = (bytes: Uint8Array, addresses: readonly number[]): Uint8Array =>
  bytes.map((byte, a) => (addresses.includes(a) ? byte ^ 0x18 : byte));

describe.each([
  [2048, 3],
  [8192, 4],
])('a chip of %i cells', (cells, digits) => {
  const wanted = imageOfBytes('noise', random.bytes(cells));
  const { bytes } = wanted;
  const half = cells / 2;
  it.each<[string, Uint8Array]>([
    ['crossed address lines', readNaively(bytes, [{ kind: 'crossed', lines: ['A3', 'A9'] }])],
    ['a stuck address line', readNaively(bytes, [{ kind: 'stuck', line: 'A4', level: 1 }])],
    ['pages that were never written', bytes.map((byte, a) => (a >> 6 === 1 || a >> 6 === 12 ? 255 : byte))],
    ['a page at another place', bytes.map((byte, a) => (a >> 6 === 1 ? bytes[a + 64]! : byte))],
    ['cells that were never written', bytes.map((byte, a) => (a === 0x0c0 || a === 0x1c1 ? 255 : byte))],
    ['a smaller chip', bytes.map((_, a) => bytes[half + (a % half)]!)],
    ['one damaged cell', damaged(bytes, [0x0c0])],
    ['many damaged cells', damaged(bytes, [5, 0x0c0, 0x2ab, 0x7fe])],
  ])('when it reads with %s, then every address has 0x and as many digits as the chip needs', (_, readback) => {
    const text = readbackVerdictText(explainReadback(wanted, readback), () => '');
    expectOneSpelling(text, digits);
    expect(text).toMatch(/0x/);
  });

  it('when cells are unsteady, then the first is spelled so', () => {
    const verdict = explainReadback(wanted, bytes, { passes: [damaged(bytes, [0x0c0, 0x1c1])] });
    const { explanations } = readbackWords(verdict);
    expect(explanations[0]!.text).toContain(`first ${addressText(0x0c0, cells)}`);
  });
});

it('when an address line of the writer is stuck, then the next step names addresses that can be typed', () => {
  const part = findPart('AT28C64B');
  const wanted = imageOfBytes('known', random.bytes(part.cells));
  const readback = readNaively(wanted.bytes, [{ kind: 'stuck', line: 'A3', level: 0 }]);
  const { next } = rigWords(judgeRig({ part, reference: { wanted, readback } }));
  expectOneSpelling(next, 4);
  expect(next).toContain('Hold address 0x0000, then 0x0008, where A3 is high');
});

it('when a data line is stuck, then bytes stay bytes', () => {
  const dataBus = dataBusTest().flatMap((step) => (step.kind === 'read' ? [(step.expected ?? 0) | 8] : []));
  expectOneSpelling(rigWords(judgeRig({ part: findPart('AT28C16'), dataBus })).next, 3);
});
