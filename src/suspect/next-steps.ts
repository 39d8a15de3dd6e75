// What to do about a difference that nothing on the list explains: steps that tell the causes apart, without naming one beforehand.

import type { Part } from '../chip/part.js';
import { addressText, countOf } from '../ground/quantity.js';
import type { ReadbackCase } from './readback-case.js';
import type { Unsteadiness } from './unsteady.js';

/** Wrong cells up to which cells are suspected one by one; more have rather a cause in common (our choice, no source). */
const fewMax = 8;

/** What a burn would write: "only the page 0x0C0..0x0FF". */
const whatIsBurned = (c: ReadbackCase, part: Part | null): string => {
  if (part === null) return 'only what differs is written';
  const size = part.pageBytes.value;
  const first = c.differing[0]! - (c.differing[0]! % size);
  const blocks = new Set(c.differing.map((a) => Math.floor(a / size))).size;
  if (blocks > 1) return `only the ${countOf(blocks, size === 1 ? 'cell' : 'page')} that differ are written`;
  const [from, to] = [first, first + size - 1].map((a) => addressText(a, c.cells));
  return size === 1 ? `only the cell ${from} is written` : `only the page ${from}..${to} is written`;
};

const readAgain = (passCount: number): string =>
  passCount > 1
    ? `All ${passCount} passes read the same, so the wrong bytes are steady.`
    : 'Read the chip again in several passes (`romkiln dump -o again.bin --passes 8`), which names every cell that changes between them.';

const fewCells = (c: ReadbackCase, passCount: number, part: Part | null): string[] => {
  const one = c.differing.length === 1;
  return [
    readAgain(passCount),
    `${passCount > 1 ? 'Burn' : `If ${one ? 'the cell is' : 'the same cells are'} wrong in every pass, burn`} the image again (\`romkiln burn <image>\`): ${whatIsBurned(c, part)}.`,
    `If ${one ? 'the cell is wrong once more, then or after some days, it does not take or keep its byte' : 'the same cells are wrong once more, then or after some days, they do not take or keep their bytes'}: the chip is worn, take another one.`,
    `If ${one ? 'another cell is' : 'other cells are'} wrong instead, look at the contacts of the socket and at the supply (100 nF at the chip).`,
  ];
};

/** What was not written cannot be told from what was, unless it is known what the chip held. */
const sayBefore =
  'If the chip held anything but FF before it was burned, say what, since a burn that stopped early leaves it wherever it did not try: `romkiln keep show <id> -o before.hex`, then the same command with `--before before.hex`.';

const manyCells = (passCount: number, knowsBefore: boolean): string[] => [
  ...(knowsBefore ? [] : [sayBefore]),
  readAgain(passCount),
  'If other cells are wrong each time, look at the contacts of the socket and at the supply (100 nF at the chip).',
  'If the same cells are, compare the readback with other images that the chip may hold (`romkiln compare <image> <readback>`), and test the wires with a chip that was burned elsewhere (`romkiln rig --reference <image>`).',
  'If the wires are sound, burn the image again (`romkiln burn <image>`): only what differs is written.',
];

const unsteadyCells: readonly string[] = [
  'Press the chip into its socket, look at the supply (100 nF at the chip), and read again in several passes (`romkiln dump -o again.bin --passes 8`).',
  'If cells still change, test the wires with another chip (`romkiln rig --scratch`); if they are sound, take another chip.',
];

/** Where something is nearest, it comes before all else: what is left without it may be plain. */
export const nearestFirst = 'Settle the nearest explanation first, as said with it, and judge a new readback.';

/** Steps for a readback of `passCount` passes that no explanation reproduces, in the order in which to take them. */
export const nextSteps = (
  c: ReadbackCase,
  u: Unsteadiness,
  passCount: number,
  part: Part | null,
  knowsBefore: boolean,
): readonly string[] => {
  if (u.addresses.length > 0) return unsteadyCells;
  return c.differing.length <= fewMax ? fewCells(c, passCount, part) : manyCells(passCount, knowsBefore);
};
