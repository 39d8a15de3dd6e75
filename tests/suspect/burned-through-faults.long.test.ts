// Chips that were burned and read by one writer with a faulty line, which stops some of these burns early: the line is named.
import { expect, it } from 'vitest';
import { findPart } from '../../src/chip/chip-table.js';
import type { Part } from '../../src/chip/part.js';
import {
  linesOf,
  parseWiringFault,
  sameFault,
  spellWiringFault,
  type WiringFault,
} from '../../src/chip/wiring-fault.js';
import { seededRandom } from '../../src/ground/random.js';
import { type Image, imageOfBytes } from '../../src/image/image.js';
import { wholeRange } from '../../src/image/range.js';
import { burn } from '../../src/job/burn.js';
import { planBurn } from '../../src/job/burn-plan.js';
import { explainReadback } from '../../src/suspect/explain-readback.js';
import { addressLineNames, dataLineNames, singleFaultsOn } from '../../src/suspect/wiring.js';
import { chipChoice } from '../../src/writer/chip-choice.js';
import { openWriter } from '../../src/writer/writer.js';
import { mockWriter } from '../mock/mock-writer.js';

/** Small, and yet more pages than are tried before a burn stops. */
const cells = 2048;
const pagePart: Part = { ...findPart('AT28C64B'), cells, addressLines: 11 };
const cellPart: Part = { ...findPart('AT28C16E'), cells, addressLines: 11 };
const random = seededRandom(4);

/** Random bytes between stretches of FF, such as an image has at its edges. */
const image: Image = imageOfBytes(
  'skerry',
  random.bytes(cells).map((byte, a) => (a % 64 < 3 || a % 97 > 90 ? 0xff : byte)),
);

const all = [...addressLineNames(11), ...dataLineNames];
const faults: readonly WiringFault[] = [
  ...all.map((line): WiringFault => ({ kind: 'open', line })),
  ...singleFaultsOn(addressLineNames(11)),
  ...singleFaultsOn(dataLineNames),
];

/** What a writer reads of a chip that it has burned through this fault, before and after it is mended; null where it refuses to burn. */
async function burnedThrough(
  part: Part,
  fault: WiringFault,
  contents: Uint8Array | 0xff = 0xff,
): Promise<Readbacks | null> {
  const chip = { cells, page: part.pageBytes.value, cycleUs: 200, codes: false, contents };
  const mock = mockWriter({ chip, wiring: [fault] });
  const writer = await openWriter(await mock.open('mock', { baud: 115200, lineMax: 4096 }));
  await writer.chip(chipChoice(part));
  const range = wholeRange(cells);
  const seen = await writer.read(0, cells);
  try {
    await burn(writer, part, image, await planBurn(writer, part, image, { range, keep: true }), 'discarded', { range });
  } catch {
    return null;
  }
  return { seen, faulty: await writer.read(0, cells), mended: mock.chip.cells.slice(0, cells) };
}

interface Readbacks {
  /** Before the burn. */
  readonly seen: Uint8Array;
  readonly faulty: Uint8Array;
  readonly mended: Uint8Array;
}

const hasOneLevel = ({ kind }: WiringFault): boolean => kind === 'open' || kind === 'stuck';

/** An address line that was open or stuck at burning and at reading reads alike at every level. */
const alike = (one: WiringFault, other: WiringFault): boolean =>
  sameFault(one, other) ||
  (hasOneLevel(one) && hasOneLevel(other) && linesOf(one)[0] === linesOf(other)[0] && linesOf(one)[0]![0] === 'A');

// A spread of the faults: all take some minutes, and all are named.
const every = 4;

it.each([
  ['pages', pagePart],
  ['single cells', cellPart],
])('when %s are burned through any one fault then it is named, or the burn is right, or refused', async (_, part) => {
  const missed: string[] = [];
  let named = 0;
  for (const fault of faults.filter((_, i) => i % every === 1 % every)) {
    const read = await burnedThrough(part, fault);
    if (read === null) continue;
    const { faulty, mended } = read;
    for (const [when, readback] of Object.entries({ faulty, mended })) {
      const { healthy, explanations } = explainReadback(image, readback, { part });
      if (healthy) continue;
      named += 1;
      if (!explanations.some((e) => e.faults.length === 1 && alike(e.faults[0]!, fault)))
        missed.push(`${spellWiringFault(fault)}, ${when}: ${JSON.stringify(explanations[0]?.cause ?? null)}`);
    }
  }
  expect(missed).toEqual([]);
  expect(named).toBeGreaterThan(40);
});

it.each(['A5 stuck 0', 'A5 A9 shorted low', 'A8 stuck 1'])(
  'when the chip held other bytes then what it truly held, and what was read through the line, name "%s"',
  async (text) => {
    const fault = parseWiringFault(text);
    const held = seededRandom(6).bytes(cells);
    for (const part of [pagePart, cellPart]) {
      const { seen, faulty } = (await burnedThrough(part, fault, held))!;
      for (const before of [held, seen]) {
        const { explanations } = explainReadback(image, faulty, { part, before });
        expect(explanations.some((e) => e.faults.length === 1 && alike(e.faults[0]!, fault))).toBe(true);
      }
    }
  },
);
