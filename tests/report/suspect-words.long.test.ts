// What a judgement on a readback says, sentence by sentence.
import { describe, expect, it } from 'vitest';
import { findPart } from '../../src/chip/chip-table.js';
import { parseWiringFault } from '../../src/chip/wiring-fault.js';
import { seededRandom } from '../../src/ground/random.js';
import { imageOfBytes } from '../../src/image/image.js';
import { readbackVerdictText } from '../../src/report/suspect-text.js';
import { readbackWords } from '../../src/report/suspect-words.js';
import { explainReadback, type ReadbackOptions } from '../../src/suspect/explain-readback.js';
import { readNaively } from '../suspect/naive-reader.js';

const random = seededRandom(52);
const cells = 2048;
const noise = imageOfBytes('noise', random.bytes(cells));
const pages = { part: findPart('AT28C64B') };
const single = { part: findPart('AT28C16') };

const said = (readback: Uint8Array, options: ReadbackOptions = {}) =>
  readbackWords(explainReadback(noise, readback, options));
const texts = (readback: Uint8Array, options: ReadbackOptions = {}): string[] =>
  said(readback, options).explanations.map((e) => e.text);
const through = (...faults: readonly string[]): Uint8Array => readNaively(noise.bytes, faults.map(parseWiringFault));
const changed = (change: (byte: number, address: number) => number): Uint8Array => noise.bytes.map(change);

describe('what is wrong', () => {
  it.each([
    ['D3 stuck 1', 'Data line D3 is stuck high.'],
    ['D3 stuck 1', 'Data line D3 is open and keeps its last charge, a 1.'],
    ['A3 stuck 0', 'Address line A3 is open and floats low at the chip.'],
    ['A2 A9 crossed', 'Address lines A2 and A9 are crossed.'],
    ['D2 D4 shorted low', 'Data lines D2 and D4 are shorted (low wins).'],
    ['A7 inverted', 'Address line A7 is inverted.'],
  ])('when the chip is read through "%s", then it says "%s"', (fault, text) => {
    expect(texts(through(fault))).toContain(text);
  });

  it('when three lines have gone round in a ring, then each is named', () => {
    expect(texts(through('A1 A3 crossed', 'A3 A4 crossed'))[0]).toMatch(
      /^Lines have changed places: from reader to chip A1 to A., A3 to A., A4 to A.\.$/,
    );
  });

  it('when a line was stuck during the burn alone, then that is told from reading', () => {
    expect(texts(changed((_, a) => (a & 8 ? 255 : noise.bytes[a | 8]!)))).toContain(
      'Address line A3 was stuck low during the burn and is sound now.',
    );
  });

  it('when a line was stuck during the burn too, then that is said', () => {
    expect(texts(changed((_, a) => noise.bytes[a | 1024]!))).toContain(
      'Address line A10 is stuck low, and already was during the burn.',
    );
  });

  it.each<[string, Uint8Array, ReadbackOptions]>([
    [
      '2 pages were never written and read FF: 0x040..0x07F and 0x400..0x43F.',
      changed((b, a) => (a >> 6 === 1 || a >> 6 === 16 ? 255 : b)),
      pages,
    ],
    [
      '1 page holds the bytes of another: 0x200..0x23F holds 0x100..0x13F.',
      changed((b, a) => (a >> 6 === 8 ? noise.bytes[a - 256]! : b)),
      pages,
    ],
    [
      '65 cells were never written and read FF: 0x007 and 0x040..0x07F.',
      changed((b, a) => (a >> 6 === 1 || a === 7 ? 255 : b)),
      single,
    ],
    [
      'Cells 0x03E and 0x12F did not take their bytes, which ended their lines of the burn: 0x03F and 0x130..0x13F were not written any more.',
      changed((b, a) => (a === 0x3e || a === 0x12f ? b ^ 16 : a === 0x3f || (a > 0x12f && a < 0x140) ? 255 : b)),
      single,
    ],
    [
      'Blocks of 64 bytes were burned into a part with pages of 32: of each block only the page named last was written, with the bytes loaded last.',
      changed((b, a) => (a & 32 ? b : 255)),
      {},
    ],
    [
      'The image sits 2 bytes too high, and what left at one end came in at the other.',
      changed((_, a) => noise.bytes[(a + 2046) % 2048]!),
      {},
    ],
  ])('"%s"', (text, readback, options) => {
    expect(texts(readback, options)).toContain(text);
  });

  it('when one cell changes from pass to pass, then it is spoken of as one, and of two as two', () => {
    const one = changed((b, a) => (a === 77 ? b ^ 1 : b));
    const [first] = said(noise.bytes, { passes: [one] }).explanations;
    expect(first!.text).toBe('1 cell reads differently from pass to pass, first 0x04D; it was right at least once.');
    expect(first!.nextMeasurement).toContain('Burn this cell again; if it stays unsteady,');
    const two = changed((b, a) => (a === 77 || a === 900 ? b ^ 1 : b));
    const [other] = said(noise.bytes, { passes: [two] }).explanations;
    expect(other!.text).toContain('2 cells read differently from pass to pass, first 0x04D');
    expect(other!.nextMeasurement).toContain('Burn these cells again');
  });
});

describe('what speaks for it, and what comes next', () => {
  it('when the rest was never written, then the burn that stopped is told of', () => {
    const [missing] = said(
      changed((b, a) => (a < 320 ? b : 255)),
      pages,
    ).explanations;
    expect(missing!.evidence).toContain(
      'Nothing from 0x140 up was written, as where a burn stops early: its last lines, and its line in `romkiln book`, say what was tried.',
    );
  });

  it('when no part is known then pages are not spoken of', () => {
    expect(
      JSON.stringify(said(changed((b, a) => (a < 320 ? b : 255))).explanations.map((e) => [e.text, e.evidence])),
    ).not.toMatch(/pages? /);
  });

  it('when a data line is stuck or open, then the rig check tells which', () => {
    expect(said(through('D3 stuck 1')).explanations[0]!.nextMeasurement).toBe(
      'Take the chip out and run `romkiln rig --empty`: it finds D3 if it is stuck; if it finds nothing wrong, the line is open.',
    );
  });

  it('when a crossing sends reads into undefined cells, then what it leaves open is counted', () => {
    const half = { ...noise, defined: noise.defined.map((_, a) => (a & 32 ? 1 : 0)) };
    const [first] = readbackWords(explainReadback(half, through('A4 A5 crossed'))).explanations;
    expect(first!.evidence.slice(0, 2).join(' ')).toMatch(
      /^It accounts for \d+ of \d+ differing addresses and contradicts none\. It says nothing of \d+ of them, which by it read cells that the image does not define\.$/,
    );
  });

  it('when explanations side by side have grounds and next step in common then these are said once, below the last', () => {
    const verdict = explainReadback(
      noise,
      changed((_, a) => (a < 320 ? noise.bytes[a | 16]! : 0xff)),
      pages,
    );
    expect(verdict.explanations.length).toBeGreaterThan(1);
    const text = readbackVerdictText(verdict, () => '');
    expect(text.split('Run the rig check').length - 1).toBe(1);
    expect(text).toMatch(/^ {2}1\. .*\n {2}2\. .*\n/m);
    expect(text).toMatch(/^ {5}Of 1 (and|to) \d+ alike:\n {5}.* accounts for/m);
  });
});

describe('what nothing on the list explains', () => {
  it('when one bit of one cell is wrong, then the simplest description says so', () => {
    expect(said(changed((b, a) => (a === 0x123 ? b ^ 0x40 : b))).noneOfThese).toMatch(
      /^No known fault explains this readback: 1 cell of 2048 differs \(0x123 reads .. for ..\)\.$/,
    );
  });

  it('when one cell changed, then the steps read again, burn that place alone, and end at a worn chip', () => {
    const readback = changed((b, a) => (a === 0x0c0 ? b ^ 0x18 : b));
    const steps = (options: ReadbackOptions): readonly string[] => said(readback, options).nextSteps;
    expect(steps({})).toEqual([
      expect.stringContaining('`romkiln dump -o again.bin --passes 8`'),
      'If the cell is wrong in every pass, burn the image again (`romkiln burn <image>`): only what differs is written.',
      expect.stringContaining('the chip is worn'),
      expect.stringContaining('If another cell is wrong instead'),
    ]);
    expect(steps(single)[1]).toContain('only the cell 0x0C0 is written');
    expect(steps(pages)[1]).toContain('only the page 0x0C0..0x0FF is written');
    // Steadiness is not asked for again where passes have shown it.
    expect(steps({ passes: [readback] }).slice(0, 2)).toEqual([
      'All 2 passes read the same, so the wrong bytes are steady.',
      'Burn the image again (`romkiln burn <image>`): only what differs is written.',
    ]);
  });

  it('when several cells changed, then the steps speak of them', () => {
    const readback = changed((b, a) => ([3, 0x0c0, 0x0c2].includes(a) ? b ^ 0x18 : b));
    expect(said(readback, pages).nextSteps[1]).toBe(
      'If the same cells are wrong in every pass, burn the image again (`romkiln burn <image>`): only the 2 pages that differ are written.',
    );
  });

  it('when the chip held something unknown, then the first step asks for it', () => {
    const held = noise.bytes.toReversed();
    const [first] = said(changed((b, a) => (a < 320 ? b : held[a]!))).nextSteps;
    expect(first).toContain('a burn that stopped early leaves it wherever it did not try');
    expect(first).toContain('`romkiln keep show <id> -o before.hex`');
  });

  it('when much is wrong, unsteady or nearly explained, then other steps come first', () => {
    expect(said(random.bytes(2048)).nextSteps.join(' ')).toContain('`romkiln rig --reference <image>`');
    const flicker = changed((b, a) => (a === 9 ? b ^ 2 : a % 400 === 7 ? b ^ 0x18 : b));
    const wrong = changed((b, a) => (a === 9 ? b ^ 2 : b));
    expect(said(wrong, { passes: [flicker] }).nextSteps[0]).toContain('Press the chip into its socket');
    const crossed = through('A2 A9 crossed');
    crossed[5]! ^= 0x18;
    expect(said(crossed).nextSteps[0]).toContain('Settle the nearest explanation first');
    expect(said(noise.bytes).nextSteps).toEqual([]);
  });
});

it('when one cell is undefined, then it carries no evidence', () => {
  const defined = noise.defined.map((_, a) => (a === 9 ? 0 : 1));
  expect(readbackWords(explainReadback({ ...noise, defined }, noise.bytes)).bounds).toContain(
    '1 cell of the image is undefined and carries no evidence.',
  );
});
