// The judgement on the writer's own wiring: what is proven of every line and by which test, what is not, and what is wrong.

import type { Part } from '../chip/part.js';
import { type LineName, linesOf, sameFault, type WiringFault } from '../chip/wiring-fault.js';
import { addressText, countOf } from '../ground/quantity.js';
import { explainReadback } from './explain-readback.js';
import type { Permutation, ReadbackVerdict } from './explanation.js';
import { trialsBeside, trialsOf } from './fault-trials.js';
import { busWord, faultWords, listWords, sentence } from './fault-words.js';
import { blamed, type LineProof, placed, proofOf, type Trial, unproven } from './line-proof.js';
import { holdBothLevels } from './next-measurement.js';
import { solvePermutation } from './permutation.js';
import { readbackCase } from './readback-case.js';
import { isShown } from './reference-fit.js';
import {
  cellsAmiss,
  cellTests,
  couldGive,
  type RigObservations,
  type RigSuspicion,
  type RigTest,
  referenceTest,
  rigSuspicions,
  rigTests,
  smallerChip,
} from './rig-model.js';
import { addressLineNames, dataLineNames } from './wiring.js';

export type { LineProof } from './line-proof.js';
export type { PageWitness, RigObservations } from './rig-model.js';

export type RigExplanation =
  | { readonly fault: WiringFault; readonly text: string }
  | { readonly fault: null; readonly cells: number; readonly text: string };

/** The single faults among them. */
export const faultsAmong = (explanations: readonly RigExplanation[]): WiringFault[] =>
  explanations.flatMap(({ fault }) => fault ?? []);

export interface RigVerdict {
  /** Every test gave what sound wiring gives, and no register is missing. Says nothing of what the tests cannot see: that is `unseen`. */
  readonly sound: boolean;
  /** The tests that were performed. */
  readonly tests: readonly string[];
  /**
   * What would give exactly these results: single faults, or a chip of fewer `cells` than said; several where the tests
   * cannot tell them apart.
   */
  readonly explanations: readonly RigExplanation[];
  /** What is wrong where it is not one wiring fault of the list: the register chain, or results that no single fault gives. */
  readonly remarks: readonly string[];
  readonly lines: readonly LineProof[];
  /** What these tests look for in part or not at all, in plain sentences. */
  readonly bounds: readonly string[];
  /** Single faults that would have given the very results of sound wiring in every test performed. */
  readonly unseen: readonly WiringFault[];
  /** It may be the chip: it has fewer cells than said, or one page of it alone reads amiss, or a reference chip reads otherwise as by no fault of wires on the list. */
  readonly chipInDoubt: boolean;
  /** The judgement on the reference chip's readback, permutations included; null without one. */
  readonly reference: ReadbackVerdict | null;
  readonly next: string;
}

/**
 * The faults left over that what is amiss shows. Where that is the reference chip alone, a fault must foretell the bytes that
 * differ: one that only sends their reads to cells that the image does not define fits any readback, and is not shown by it.
 */
const shownFaults = (
  fitting: readonly WiringFault[],
  suspicions: readonly RigSuspicion[],
  amiss: readonly RigTest[],
  { reference }: RigObservations,
): WiringFault[] => {
  if (reference === undefined || amiss.some((t) => t.name !== referenceTest)) return [...fitting];
  const c = readbackCase(reference.wanted, reference.readback);
  return fitting.filter((fault) =>
    suspicions.some((s) => s.fault !== null && sameFault(s.fault, fault) && isShown(c, s)),
  );
};

const registerRemarks = (o: RigObservations): string[] => {
  if (o.registers === undefined) return [];
  const needed = Math.ceil(o.part.addressLines / 8);
  if (o.registers === 0)
    return [
      'No register was counted: the chain return (last serial output through 1 k to PB4) is not fitted, or a register has no supply, clock or serial data.',
    ];
  if (o.registers < needed)
    return [
      `${countOf(o.registers, 'register')} ${o.registers === 1 ? 'was' : 'were'} counted, and ${o.part.name} needs ${needed} for its ${o.part.addressLines} address lines.`,
    ];
  return [];
};

/** Chips no smaller than this are made. */
const leastCells = 256;

/** Sizes of a chip with which a sound writer would give these results; none where nothing is amiss. */
const fittingSizes = (o: RigObservations, tests: readonly RigTest[], amiss: readonly RigTest[]): number[] => {
  const sizes: number[] = [];
  const alone = amiss.every((t) => t.name === referenceTest);
  const c = alone && o.reference !== undefined ? readbackCase(o.reference.wanted, o.reference.readback) : null;
  for (let cells = o.part.cells / 2; amiss.length > 0 && cells >= leastCells; cells /= 2) {
    const chip = smallerChip(o.part, cells);
    if (tests.every((t) => couldGive(t, chip)) && (c === null || isShown(c, chip))) sizes.push(cells);
  }
  return sizes;
};

/** The address lines that a chip of so many cells does not use. */
const linesAbove = (part: Part, cells: number): LineName[] =>
  addressLineNames(part.addressLines).slice(Math.log2(cells));

/** Several lines without effect may also be several faults, which are not on the list of single ones. */
const smallerText = (part: Part, cells: number): string => {
  const lines = linesAbove(part, cells);
  const smaller = `The chip has ${addressText(cells, part.cells)} cells, not ${addressText(part.cells, part.cells)}: it does not use ${listWords(lines)}.`;
  return lines.length === 1 ? smaller : `${smaller} Or none of these lines reaches it, which reads alike.`;
};

/** More explanations than these are no list to follow with a meter: first they are to become fewer. */
const followedMost = 3;

const nextStep = (v: Omit<RigVerdict, 'next'>, moved: Permutation | null, o: RigObservations): string => {
  const smaller = v.explanations.find((e) => e.fault === null);
  if (smaller !== undefined) {
    const lines = listWords(linesAbove(o.part, smaller.cells));
    return `Power off and read the part number on the chip: is it ${o.part.name}? If it is, follow ${lines} from the register to the socket with a meter: ${holdBothLevels(linesAbove(o.part, smaller.cells)[0]!, o.part.addressLines)}.`;
  }
  const first = v.explanations[0]?.fault;
  if (v.chipInDoubt && o.reference === undefined)
    return 'Run the check again with another scratch chip (`romkiln rig --scratch`): where the same test fails there too, it is not the chip.';
  if (v.chipInDoubt)
    return 'Run the check again, then with another reference chip: where that one reads right, the first chip or its image is to blame.';
  if (v.explanations.length > followedMost && o.reference === undefined)
    return 'Read a chip of known bytes that was burned elsewhere (`romkiln rig --reference <image>`): it tells most of these apart.';
  if (first) {
    const line = linesOf(first)[0]!;
    return line.startsWith('A')
      ? `${holdBothLevels(line, o.part.addressLines)}, and follow ${linesOf(first).join(' and ')} from the register to the socket with a meter.`
      : `Take the chip out, hold the data lines at 00 and at FF (\`romkiln hold 0 --data 00\`, \`romkiln hold 0 --data FF\`), and follow ${linesOf(first).join(' and ')} from the microcontroller to the socket with a meter.`;
  }
  const [together, ...others] = v.reference?.explanations ?? [];
  if (together !== undefined && together.faults.length > 1 && others.length === 0) {
    const lines = together.faults.flatMap((fault) => linesOf(fault));
    return `Follow ${listWords(lines)} from the writer to the socket with a meter (\`romkiln hold <address>\`), mend them, and run the check again.`;
  }
  if (moved !== null) return 'Put the lines that go to another pin into their places, and run the check again.';
  if (v.lines.every((line) => line.notProven.length === 0)) return 'Nothing is left to settle by single faults.';
  if (o.reference === undefined)
    return 'What is not ruled out can be settled with a chip of known bytes that was burned elsewhere (`romkiln rig --reference <image>`), or line by line with `romkiln hold <address>` and a meter.';
  return 'What is not ruled out can be settled line by line with `romkiln hold <address>` and a meter.';
};

/** Pairs of lines of one bus that could be crossed without any test seeing it; null where there are none. */
const crossingBound = (bus: 'address' | 'data', trials: readonly Trial[]): string | null => {
  const pairs = trials.filter(({ fault }) => fault.kind === 'crossed' && busWord(fault.lines[0]) === bus);
  const alike = pairs.filter((t) => t.ruledOutBy.length === 0).length;
  if (alike === 0) return null;
  return alike === pairs.length
    ? `Crossed ${bus} lines are not looked for: each of the ${pairs.length} pairs would give the same when crossed.`
    : `Crossed ${bus} lines are looked for only in part: ${alike} of ${pairs.length} pairs would give the same when crossed.`;
};

const crossingBounds = (trials: readonly Trial[], o: RigObservations): string[] => {
  const bounds = (['address', 'data'] as const).flatMap((bus) => crossingBound(bus, trials) ?? []);
  if (bounds.length === 0) return [];
  return [
    ...bounds,
    o.reference === undefined
      ? '`romkiln rig --reference <image>`, with a chip that was burned elsewhere, finds crossed lines.'
      : `The bytes of ${o.reference.wanted.name} do not tell these lines apart; a reference chip of random bytes does.`,
  ];
};

/** The permutation of lines that the reference chip shows, where it alone explains the readback; null otherwise. */
const onlyPermutation = (o: RigObservations, reference: ReadbackVerdict | null): Permutation | null => {
  const [only, ...others] = reference?.explanations ?? [];
  if (o.reference === undefined || !only?.permutation || others.length > 0 || reference!.notListed > 0) return null;
  const solved = solvePermutation(readbackCase(o.reference.wanted, o.reference.readback));
  return solved?.count === 1 && solved.countIsExact ? only.permutation : null;
};

const chipInDoubt = (
  amiss: readonly RigTest[],
  reference: ReadbackVerdict | null,
  notRuledOut: readonly WiringFault[],
): boolean =>
  reference?.explanations.length === 0 && notRuledOut.length === 0 && amiss.every((t) => t.name === referenceTest);

/** Cells of one page that alone read amiss: a chip has worn and broken ones. Empty where more is amiss than that. */
const spotAmiss = (o: RigObservations, amiss: readonly RigTest[]): number[] => {
  // The test of the data lines has one cell; that others are right is seen where they are looked at.
  if (o.addressBus === undefined || !amiss.every((t) => cellTests.includes(t.name))) return [];
  const cells = cellsAmiss(o);
  const pages = new Set(cells.map((cell) => Math.floor(cell / o.part.pageBytes.value)));
  return pages.size === 1 ? cells : [];
};

const spotText = (cells: readonly number[], { part }: RigObservations): string => {
  const [first, last] = [cells[0]!, cells.at(-1)!].map((cell) => addressText(cell, part.cells));
  const spot = cells.length === 1 ? `cell ${first}` : `cells of one page, ${first}..${last},`;
  return `None of these: no single wiring fault gives what was seen. Of the chip, ${spot} alone ${cells.length === 1 ? 'reads' : 'read'} amiss, as where it is worn or broken there.`;
};

const noSingleFault = (
  amiss: readonly RigTest[],
  reference: ReadbackVerdict | null,
  notRuledOut: readonly WiringFault[],
): string => {
  if (chipInDoubt(amiss, reference, notRuledOut))
    return `${reference?.noneOfThese} No wiring fault on the list gives that: the reference chip may have changed, or it does not hold this image.`;
  if (notRuledOut.length > 0)
    return `No single wiring fault is shown by what was seen. Not ruled out either, since by it what differs reads cells that the reference image does not define: ${listWords(notRuledOut.map(faultWords), 'or')}.`;
  const known = reference !== null && reference.explanations.length > 0;
  const names = listWords(amiss.map((t) => t.name));
  return `${known ? 'No' : 'None of these: no'} single wiring fault gives what was seen. Not as with sound wiring: ${names}.`;
};

/**
 * Judges the writer's wiring from whatever tests were performed; tests left out prove nothing. Every single fault is tried
 * against the results, so that "proven" means: with this fault one of the tests would have given something else.
 */
export const judgeRig = (o: RigObservations): RigVerdict => {
  const suspicions = rigSuspicions(o.part);
  const tests = rigTests(o);
  const soundWriter = suspicions[0]!;
  const amiss = tests.filter((t) => !couldGive(t, soundWriter));
  const isAmiss = amiss.length > 0;
  const trials = trialsOf(suspicions, tests);
  const fitting = trials.filter((t) => t.ruledOutBy.length === 0).map((t) => t.fault);
  const shown = isAmiss ? shownFaults(fitting, suspicions, amiss, o) : [];
  const sizes = fittingSizes(o, tests, amiss);
  const explanations: RigExplanation[] = [
    ...sizes.map((cells) => ({ fault: null, cells, text: smallerText(o.part, cells) })),
    ...shown.map((fault) => ({ fault, text: sentence(faultWords(fault)) })),
  ];
  const reference =
    o.reference === undefined
      ? null
      : explainReadback(o.reference.wanted, o.reference.readback, {
          part: o.part,
          ...(o.followed !== undefined && { followed: o.followed }),
        });
  const unexplained = isAmiss && explanations.length === 0;
  const moved = unexplained ? onlyPermutation(o, reference) : null;
  const spot = unexplained ? spotAmiss(o, amiss) : [];
  const remarks = [
    ...registerRemarks(o),
    ...(spot.length > 0 ? [spotText(spot, o)] : unexplained ? [noSingleFault(amiss, reference, fitting)] : []),
  ];
  const chips = sizes.map((cells) => smallerChip(o.part, cells));
  const inDoubt = unexplained && (spot.length > 0 || chipInDoubt(amiss, reference, fitting));
  // What a chip in doubt gave is no evidence on any line; what the other tests gave is.
  const unspoiled = inDoubt
    ? trialsOf(
        suspicions,
        tests.filter((t) => !amiss.includes(t)),
      )
    : trials;
  const beside = explanations.length > 0 ? trialsBeside(shown, chips, suspicions, tests) : unspoiled;
  const judged = (line: LineName, busLines: number): LineProof => {
    if (moved !== null) return placed(line, moved, [referenceTest], o.followed ?? 0xff);
    if (unexplained && !inDoubt) return unproven(line);
    const names = amiss.map((t) => t.name);
    const unused = sizes.map((cells) => linesAbove(o.part, cells));
    return blamed(line, shown, unused, names) ?? proofOf(line, beside, busLines);
  };
  const verdict = {
    // A chain without its return cannot be counted, which is a remark and no fault.
    sound: !isAmiss && (remarks.length === 0 || o.registers === 0),
    tests: tests.map((t) => t.name),
    explanations,
    remarks,
    lines: [
      ...addressLineNames(o.part.addressLines).map((line) => judged(line, o.part.addressLines)),
      ...dataLineNames.map((line) => judged(line, 8)),
    ],
    bounds: isAmiss ? [] : crossingBounds(trials, o),
    unseen: isAmiss ? [] : fitting,
    chipInDoubt: sizes.length > 0 || inDoubt,
    reference,
  };
  return { ...verdict, next: nextStep(verdict, moved, o) };
};
