// The judgement on a rig in words: explanations, remarks, what each line is shown to be, what no test can see, the next step.
import type { LineName } from '../chip/wiring-fault.js';
import type { CrossingBound, RigExplanation, RigRemark, RigStep, RigVerdict } from '../suspect/judge-rig.js';
import type { FaultGroup, LineFault, LineProof } from '../suspect/line-proof.js';
import { busWord, faultWords, listWords, sentence } from './fault-words.js';
import { holdBothLevels } from './measurement-words.js';
import { addressText, countOf } from './quantity.js';
import { readbackWords, type SaidVerdict } from './suspect-words.js';

export interface SaidProof {
  readonly what: string;
  readonly by: readonly string[];
}

export interface SaidLine {
  readonly line: LineName;
  readonly fault: (SaidProof & { readonly oneOf: boolean }) | null;
  readonly proven: readonly SaidProof[];
  readonly notProven: readonly string[];
}

/** The verdict with words where it has facts; what `--json` prints. */
export interface SaidRig
  extends Omit<RigVerdict, 'part' | 'explanations' | 'remarks' | 'lines' | 'bounds' | 'reference' | 'next'> {
  readonly explanations: readonly (RigExplanation & { readonly text: string })[];
  readonly remarks: readonly string[];
  readonly lines: readonly SaidLine[];
  readonly bounds: readonly string[];
  readonly reference: SaidVerdict | null;
  readonly next: string;
}

const kindWords = ({ kind, level }: FaultGroup): string =>
  level === null ? kind : `${kind} ${level === 1 ? 'high' : 'low'}`;

/** "crossed with A1 or A5"; of a bus with many partners, the few that are left out are named instead. */
const groupWords = (group: FaultGroup, line: LineName, bus: readonly LineName[]): string => {
  const kind = kindWords(group);
  const { others } = group;
  if (others.length === 0) return kind;
  const left = bus.filter((other) => other !== line && !others.includes(other));
  if (left.length === 0) return `${kind} with any line`;
  return others.length > 2 * left.length
    ? `${kind} with any line but ${listWords(left)}`
    : `${kind} with ${listWords(others, 'or')}`;
};

const faultOfLine = ({ groups, isUnused, alike, goesTo }: LineFault): string => {
  if (goesTo !== null) return `goes to ${goesTo} at the chip`;
  const words = groups.map((group) =>
    group.others.length === 0 ? kindWords(group) : `${kindWords(group)} with ${listWords(group.others, 'or')}`,
  );
  if (isUnused) words.push('not used by a smaller chip');
  if (alike.length > 0) words.push(`without effect like ${listWords(alike)}`);
  return listWords(words, 'or');
};

const lineWords = ({ line, fault, proven, ownPin, notProven }: LineProof, bus: readonly LineName[]): SaidLine => ({
  line,
  fault: fault === null ? null : { what: faultOfLine(fault), by: fault.by, oneOf: fault.oneOf },
  proven: [
    ...(ownPin === null ? [] : [{ what: 'goes to its own pin at the chip', by: ownPin }]),
    ...proven.map(({ not, by }) => ({ what: `not ${groupWords(not, line, bus)}`, by })),
  ],
  notProven: notProven === null ? ['anything'] : notProven.map((group) => groupWords(group, line, bus)),
});

const explanationText = (one: RigExplanation, cells: number): string => {
  if (one.fault !== null) return sentence(faultWords(one.fault));
  const smaller = `The chip has ${addressText(one.cells, cells)} cells, not ${addressText(cells, cells)}: it does not use ${listWords(one.unused)}.`;
  // Several lines without effect may also be several faults, which are not on the list of single ones.
  return one.unused.length === 1 ? smaller : `${smaller} Or none of these lines reaches it, which reads alike.`;
};

const remarkText = (remark: RigRemark, { part, reference }: RigVerdict): string => {
  switch (remark.is) {
    case 'no-return':
      return 'No register was counted: the chain return (last serial output through 1 k to PB4) is not fitted, or a register has no supply, clock or serial data.';
    case 'registers':
      return `${countOf(remark.counted, 'register')} ${remark.counted === 1 ? 'was' : 'were'} counted, and ${part.name} needs ${remark.needed} for its ${part.addressLines} address lines.`;
    case 'bad-spot': {
      const [first, last] = [remark.cells[0]!, remark.cells.at(-1)!].map((cell) => addressText(cell, part.cells));
      const isOne = remark.cells.length === 1;
      const spot = isOne ? `cell ${first}` : `cells of one page, ${first}..${last},`;
      return `No single wiring fault explains this. In the chip only ${spot} ${isOne ? 'reads' : 'read'} wrong: it may be worn or broken there.`;
    }
    case 'other-reference':
      return `${reference === null ? '' : `${readbackWords(reference).noneOfThese} `}No known wiring fault explains it: the reference chip may have changed, or may not hold this image.`;
    case 'not-shown':
      return `No single wiring fault is shown. Still possible, because their differences fall on cells that the reference image does not define: ${listWords(
        remark.faults.map((fault) => faultWords(fault)),
        'or',
      )}.`;
    case 'no-single-fault':
      return `No single wiring fault explains this. Unlike sound wiring: ${listWords(remark.tests)}.`;
  }
};

const boundText = ({ bus, alike, pairs }: CrossingBound): string => {
  const lines = bus === 'A' ? 'address' : 'data';
  return alike === pairs
    ? `These tests cannot see crossed ${lines} lines: each of the ${pairs} pairs reads the same when crossed.`
    : `These tests cannot see ${alike} of the ${pairs} pairs of crossed ${lines} lines.`;
};

const boundTexts = ({ bounds, referenceName }: RigVerdict): string[] =>
  bounds.length === 0
    ? []
    : [
        ...bounds.map(boundText),
        referenceName === null
          ? '`romkiln rig --reference <image>`, with a chip that was burned elsewhere, finds crossed lines.'
          : `The bytes of ${referenceName} do not tell these lines apart; a reference chip of random bytes does.`,
      ];

const holdAndFollow = (lines: readonly LineName[], cells: number): string =>
  busWord(lines[0]!) === 'address'
    ? `${holdBothLevels(lines[0]!, cells)}, and follow ${listWords(lines)} from the register to the socket with a meter.`
    : `Take the chip out, hold the data lines at 00 and at FF (\`romkiln hold 0 --data 00\`, \`romkiln hold 0 --data FF\`), and follow ${listWords(lines)} from the microcontroller to the socket with a meter.`;

const stepText = (step: RigStep, { part }: RigVerdict): string => {
  switch (step.is) {
    case 'part-number':
      return `Power off and read the part number on the chip: is it ${part.name}? If it is, follow ${listWords(step.lines)} from the register to the socket with a meter: ${holdBothLevels(step.lines[0]!, part.cells)}.`;
    case 'another-scratch-chip':
      return 'Run the check again with another scratch chip (`romkiln rig --scratch`): where the same test fails there too, it is not the chip.';
    case 'another-reference-chip':
      return 'Run the check again, then with another reference chip: where that one reads right, the first chip or its image is to blame.';
    case 'reference-chip':
      return 'Read a chip of known bytes that was burned elsewhere (`romkiln rig --reference <image>`): it tells most of these apart.';
    case 'hold-and-follow':
      return holdAndFollow(step.lines, part.cells);
    case 'follow-and-mend':
      return `Follow ${listWords(step.lines)} from the writer to the socket with a meter (\`romkiln hold <address>\`), mend them, and run the check again.`;
    case 'put-back':
      return 'Put the lines that go to another pin into their places, and run the check again.';
    case 'settled':
      return 'No single fault is left to rule out.';
    case 'settle-the-rest':
      return step.byReference
        ? 'To rule out the rest, use a chip of known bytes that another writer burned (`romkiln rig --reference <image>`), or go line by line with `romkiln hold <address>` and a meter.'
        : 'To rule out the rest, go line by line with `romkiln hold <address>` and a meter.';
  }
};

export const rigWords = (verdict: RigVerdict): SaidRig => {
  const { part, ...facts } = verdict;
  const names = verdict.lines.map(({ line }) => line);
  return {
    ...facts,
    explanations: verdict.explanations.map((one) => ({ ...one, text: explanationText(one, part.cells) })),
    remarks: verdict.remarks.map((remark) => remarkText(remark, verdict)),
    lines: verdict.lines.map((proof) =>
      lineWords(
        proof,
        names.filter((name) => name[0] === proof.line[0]),
      ),
    ),
    bounds: boundTexts(verdict),
    reference: verdict.reference === null ? null : readbackWords(verdict.reference),
    next: stepText(verdict.next, verdict),
  };
};
