// Burns through wires, blind and careful, over blank and old bytes, played by a model of its own: what the verdict is worth.
import { expect, it } from 'vitest';
import { parseWiringFault } from '../../src/chip/wiring-fault.js';
import { seededRandom } from '../../src/ground/random.js';
import { type Image, imageOfBytes } from '../../src/image/image.js';
import { explainReadback } from '../../src/suspect/explain-readback.js';
import { skerryDisplay } from './display-image.js';
import { falseOnes, hiddenBurn, worthOf } from './hidden-burns.js';
import { burnNaively, type NaiveBurn } from './naive-burner.js';
import { readNaively } from './naive-reader.js';

it('when burns with hidden faults are judged, then nothing that is said proves false when it is played again', () => {
  const random = seededRandom(3);
  const found: string[] = [];
  let right = 0;
  for (let n = 0; n < 60; n++) {
    const hidden = hiddenBurn(random);
    const verdict = explainReadback(hidden.image, hidden.readback, hidden.options);
    const worth = worthOf(hidden, verdict);
    if (worth === 'right') right++;
    if (worth === 'sound line blamed alone') found.push(`${worth}: ${hidden.story}`);
    // Every writer and every chip has to play it again.
    for (const one of n % 3 === 0 ? falseOnes(hidden, verdict) : [])
      found.push(`false: ${hidden.story}: ${JSON.stringify(one.cause)}`);
  }
  expect(found).toEqual([]);
  expect(right).toBeGreaterThan(35);
});

const noise = imageOfBytes('noise', seededRandom(9).bytes(2048));
const sparse = imageOfBytes(
  'sparse',
  noise.bytes.map((byte, a) => (a % 64 < 5 ? byte : 0xff)),
);

it.each<[string, Image, Partial<NaiveBurn>]>([
  ['A0 A10 shorted high', noise, { page: 64, compares: true }],
  ['A2 A6 shorted high', noise, { page: 64, compares: true }],
  ['A3 A6 shorted low', noise, { page: 64, compares: true }],
  ['A1 A9 shorted low', sparse, { page: 64, compares: true }],
  ['A5 stuck 0', noise, { page: 1, compares: false }],
  ['A9 stuck 0', sparse, { page: 64, compares: false }],
  ['D1 stuck 0', sparse, { page: 64, compares: false }],
  ['A4 A8 shorted high', noise, { page: 64, compares: false, pageRule: 'named first' }],
])(
  'when a blank chip is burned through "%s" and read when that is mended, then it is suspected',
  (text, image, how) => {
    const fault = parseWiringFault(text);
    const held = new Uint8Array(2048).fill(0xff);
    const burn = { image, held, wires: [fault], page: 64, pageRule: 'named last', compares: true, ...how } as const;
    const { explanations } = explainReadback(image, burnNaively(burn));
    expect(explanations.map((e) => e.faults)).toContainEqual([fault]);
  },
);

it('when a blind writer burns over old bytes through a line that is mended, then it is suspected, told the bytes or not', () => {
  const fault = parseWiringFault('A5 A9 shorted low');
  const held = seededRandom(10).bytes(2048);
  const image = skerryDisplay();
  const burn = { image, held, wires: [fault], page: 1, pageRule: 'named last', compares: false } as const;
  const readback = burnNaively(burn);
  // What is kept was read through the same line.
  for (const options of [{}, { before: readNaively(held, [fault]) }]) {
    const { explanations } = explainReadback(image, readback, options);
    expect(explanations.map((e) => e.faults)).toContainEqual([fault]);
  }
});

it.each([5, 9])(
  'when A%i wanders while a sparse chip is read, then cells never written are not the only suspects',
  (line) => {
    const random = seededRandom(line);
    const readback = sparse.bytes.map((_, a) => sparse.bytes[random.chance(0.5) ? a : a ^ (1 << line)]!);
    const { explanations } = explainReadback(sparse, readback);
    if (explanations.length > 0)
      expect(explanations.map((e) => e.faults)).toContainEqual([{ kind: 'open', line: `A${line}` }]);
  },
);
