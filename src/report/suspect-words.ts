// The judgement on a readback in words: its explanations, what the difference looks like, what to do, and what it cannot show.
import type { Advice, Explanation, Pattern, ReadbackVerdict } from '../suspect/explanation.js';
import { causeText, explanationWords, type SaidExplanation } from './explanation-words.js';
import { listWords, verbFor } from './fault-words.js';
import { addressText, byteText, countOf } from './quantity.js';

/** Conditions on address lines that are still read at a glance. */
const conditionsMost = 4;

/** "only where A3 is high and A7 is low". */
const whereWords = ({ high, low }: Pattern): string => {
  const conditions = [...high.map((line) => `${line} is high`), ...low.map((line) => `${line} is low`)];
  if (conditions.length === 0) return 'with no address line in common';
  return conditions.length <= conditionsMost ? `only where ${listWords(conditions)}` : 'close together';
};

const bitWords = ({ lines, always }: Pattern): string => {
  const direction = always === 1 ? ', always 1 for 0' : always === 0 ? ', always 0 for 1' : ', in both directions';
  return `${lines.length === 8 ? 'all data lines' : `only ${listWords(lines)}`}${direction}`;
};

/** Differing cells that are told one by one. */
const eachMost = 3;

/** One or two sentences; names no cause. */
const patternText = (pattern: Pattern, { cells, compared, differing }: ReadbackVerdict): string => {
  const { unsteady, within } = pattern;
  const changed =
    unsteady === null
      ? ''
      : ` ${countOf(unsteady.count, 'address', 'addresses')} did not read the same in every pass, in ${listWords(unsteady.lines)}.`;
  if (within === null) return `No known fault explains this readback.${changed}`;
  if (differing <= eachMost) {
    const each = pattern.cells.map(
      ({ address, actual, wanted }) =>
        `${addressText(address, cells)} reads ${byteText(actual)} for ${byteText(wanted)}`,
    );
    return `No known fault explains this readback: ${countOf(differing, 'cell')} of ${compared} ${verbFor(differing, 'differs', 'differ')} (${each.join(', ')}).${changed}`;
  }
  const range = `between ${addressText(within.from, cells)} and ${addressText(within.to, cells)}`;
  return `No known fault explains this readback: ${countOf(differing, 'cell')} of ${compared} differ, ${range}, ${whereWords(pattern)}; ${bitWords(pattern)}.${changed}`;
};

/** What a burn would write: "only the page 0x0C0..0x0FF". */
const whatIsBurned = ({ burns }: Advice, cells: number): string => {
  if (burns === null) return 'only what differs is written';
  const noun = burns.pageBytes === 1 ? 'cell' : 'page';
  if (burns.pages > 1) return `only the ${countOf(burns.pages, noun)} that differ are written`;
  const [from, to] = [burns.first.from, burns.first.to].map((a) => addressText(a, cells));
  return from === to ? `only the cell ${from} is written` : `only the page ${from}..${to} is written`;
};

const readAgain = (passes: number): string =>
  passes > 1
    ? `All ${passes} passes read the same, so the wrong bytes are steady.`
    : 'Read the chip again in several passes (`romkiln dump -o again.bin --passes 8`), which names every cell that changes between them.';

const onFewCells = (advice: Advice, { cells, differing }: ReadbackVerdict): string[] => {
  const one = differing === 1;
  const { passes } = advice;
  return [
    readAgain(passes),
    `${passes > 1 ? 'Burn' : `If ${one ? 'the cell is' : 'the same cells are'} wrong in every pass, burn`} the image again (\`romkiln burn <image>\`): ${whatIsBurned(advice, cells)}.`,
    `If ${one ? 'the cell is wrong once more, then or after some days, it does not take or keep its byte' : 'the same cells are wrong once more, then or after some days, they do not take or keep their bytes'}: the chip is worn, take another one.`,
    `If ${one ? 'another cell is' : 'other cells are'} wrong instead, look at the contacts of the socket and at the supply (100 nF at the chip).`,
  ];
};

/** What was not written cannot be told from what was, unless it is known what the chip held. */
const sayBefore =
  'If the chip held anything but FF before it was burned, say what, since a burn that stopped early leaves it wherever it did not try: `romkiln keep show <id> -o before.hex`, then the same command with `--before before.hex`.';

const onManyCells = ({ passes, knowsBefore }: Advice): string[] => [
  ...(knowsBefore ? [] : [sayBefore]),
  readAgain(passes),
  'If other cells are wrong each time, look at the contacts of the socket and at the supply (100 nF at the chip).',
  'If the same cells are, compare the readback with other images that the chip may hold (`romkiln compare <image> <readback>`), and test the wires with a chip that was burned elsewhere (`romkiln rig --reference <image>`).',
  'If the wires are sound, burn the image again (`romkiln burn <image>`): only what differs is written.',
];

const onUnsteadyCells: readonly string[] = [
  'Press the chip into its socket, look at the supply (100 nF at the chip), and read again in several passes (`romkiln dump -o again.bin --passes 8`).',
  'If cells still change, test the wires with another chip (`romkiln rig --scratch`); if they are sound, take another chip.',
];

/** Steps in the order in which to take them. */
const adviceTexts = (advice: Advice, verdict: ReadbackVerdict): string[] => {
  const steps = { few: onFewCells, many: onManyCells, unsteady: () => onUnsteadyCells }[advice.trouble](
    advice,
    verdict,
  );
  return advice.hasNear
    ? ['Settle the nearest explanation first, as said with it, and judge a new readback.', ...steps]
    : [...steps];
};

const boundTexts = ({ cells, compared, unsteadyUndefined }: ReadbackVerdict): string[] => {
  const open = cells - compared;
  return [
    'A readback shows what differs between the way the chip was burned and the way it was read: lines crossed or inverted in both cancel out, and lines crossed in one alone look the same whichever it was.',
    ...(open > 0
      ? [
          `${countOf(open, 'cell')} of the image ${verbFor(open, 'is undefined and carries', 'are undefined and carry')} no evidence.`,
        ]
      : []),
    ...(unsteadyUndefined > 0
      ? [`${countOf(unsteadyUndefined, 'cell')} that the image does not define did not read the same in every pass.`]
      : []),
  ];
};

/** The facts of a verdict, and beside them what is said of each. */
export interface SaidVerdict extends Omit<ReadbackVerdict, 'explanations' | 'partial' | 'unjudged'> {
  readonly explanations: readonly (Explanation & SaidExplanation)[];
  readonly partial: readonly (Explanation & SaidExplanation)[];
  readonly unjudged: readonly (ReadbackVerdict['unjudged'][number] & { readonly text: string })[];
  readonly noneOfThese: string | null;
  readonly nextSteps: readonly string[];
  readonly bounds: readonly string[];
}

export const readbackWords = (verdict: ReadbackVerdict): SaidVerdict => {
  const { cells, differing, pattern, advice } = verdict;
  const said = (one: Explanation) => ({ ...one, ...explanationWords(one, cells, differing) });
  return {
    ...verdict,
    explanations: verdict.explanations.map(said),
    partial: verdict.partial.map(said),
    unjudged: verdict.unjudged.map((one) => ({
      ...one,
      text: causeText({ kind: one.fault.kind, cause: one.cause, faults: [one.fault], permutation: null }, cells),
    })),
    noneOfThese: pattern === null ? null : patternText(pattern, verdict),
    nextSteps: advice === null ? [] : adviceTexts(advice, verdict),
    bounds: boundTexts(verdict),
  };
};
