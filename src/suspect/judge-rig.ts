// The judgement on the writer's own wiring: what is proven of every line and by which test, what is not, and what is wrong.

import type { Part } from '../chip/part.js';
import { type LineName, linesOf, sameFault, type WiringFault } from '../chip/wiring-fault.js';
import { explainReadback } from './explain-readback.js';
import type { Permutation, ReadbackVerdict } from './explanation.js';
import { trialsBeside, trialsOf } from './fault-trials.js';
import { busOf } from './line-map.js';
import { blamed, type LineProof, placed, proofOf, type Trial, unproven } from './line-proof.js';
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

/** A single fault, or a chip of fewer cells than said, which leaves these lines unused. */
export type RigExplanation =
  | { readonly fault: WiringFault }
  | { readonly fault: null; readonly cells: number; readonly unused: readonly LineName[] };

/** What is to be said where nothing on the list of explanations is wrong, or nothing there says it all. */
export type RigRemark =
  | { readonly is: 'no-return' }
  | { readonly is: 'registers'; readonly counted: number; readonly needed: number }
  /** Cells of one page, which alone read amiss. */
  | { readonly is: 'bad-spot'; readonly cells: readonly number[] }
  /** No wire on the list makes what the reference chip reads. */
  | { readonly is: 'other-reference' }
  /** Nothing shows these faults, and nothing rules them out. */
  | { readonly is: 'not-shown'; readonly faults: readonly WiringFault[] }
  /** `tests` are not as with sound wiring; several faults at once may explain what the reference chip reads. */
  | { readonly is: 'no-single-fault'; readonly tests: readonly string[] };

/** Of all `pairs` of lines of a bus so many could be crossed without any test seeing it. */
export interface CrossingBound {
  readonly bus: 'A' | 'D';
  readonly alike: number;
  readonly pairs: number;
}

export type RigStep =
  /** Is it the part that was said? Else these lines are to be followed. */
  | { readonly is: 'part-number'; readonly lines: readonly LineName[] }
  | { readonly is: 'another-scratch-chip' }
  | { readonly is: 'another-reference-chip' }
  /** A chip of known bytes tells most explanations apart. */
  | { readonly is: 'reference-chip' }
  | { readonly is: 'hold-and-follow'; readonly lines: readonly LineName[] }
  | { readonly is: 'follow-and-mend'; readonly lines: readonly LineName[] }
  | { readonly is: 'put-back' }
  | { readonly is: 'settled' }
  | { readonly is: 'settle-the-rest'; readonly byReference: boolean };

/** The single faults among them. */
export const faultsAmong = (explanations: readonly RigExplanation[]): WiringFault[] =>
  explanations.flatMap(({ fault }) => fault ?? []);

export interface RigVerdict {
  /** Every test gave what sound wiring gives, and no register is missing. Says nothing of what the tests cannot see: that is `unseen`. */
  readonly sound: boolean;
  readonly part: Part;
  /** The tests that were performed. */
  readonly tests: readonly string[];
  /**
   * What would give exactly these results: single faults, or a chip of fewer `cells` than said; several where the tests
   * cannot tell them apart.
   */
  readonly explanations: readonly RigExplanation[];
  /** What is wrong where it is not one wiring fault of the list: the register chain, or results that no single fault gives. */
  readonly remarks: readonly RigRemark[];
  readonly lines: readonly LineProof[];
  /** What these tests look for in part or not at all. */
  readonly bounds: readonly CrossingBound[];
  /** The name of the reference image; null without one. */
  readonly referenceName: string | null;
  /** Single faults that would have given the very results of sound wiring in every test performed. */
  readonly unseen: readonly WiringFault[];
  /** It may be the chip: it has fewer cells than said, or one page of it alone reads amiss, or a reference chip reads otherwise as by no fault of wires on the list. */
  readonly chipInDoubt: boolean;
  /** The judgement on the reference chip's readback, permutations included; null without one. */
  readonly reference: ReadbackVerdict | null;
  readonly next: RigStep;
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

const registerRemarks = ({ registers: counted, part }: RigObservations): RigRemark[] => {
  const needed = Math.ceil(part.addressLines / 8);
  if (counted === undefined || counted >= needed) return [];
  return [counted === 0 ? { is: 'no-return' } : { is: 'registers', counted, needed }];
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

/** More explanations than these are no list to follow with a meter: first they are to become fewer. */
const followedMost = 3;

const nextStep = (v: Omit<RigVerdict, 'next'>, moved: Permutation | null): RigStep => {
  const hasReference = v.reference !== null;
  const smaller = v.explanations.find((e) => e.fault === null);
  if (smaller !== undefined) return { is: 'part-number', lines: smaller.unused };
  if (v.chipInDoubt) return { is: hasReference ? 'another-reference-chip' : 'another-scratch-chip' };
  if (v.explanations.length > followedMost && !hasReference) return { is: 'reference-chip' };
  const first = v.explanations[0]?.fault;
  if (first) return { is: 'hold-and-follow', lines: linesOf(first) };
  const [together, ...others] = v.reference?.explanations ?? [];
  if (together !== undefined && together.faults.length > 1 && others.length === 0)
    return { is: 'follow-and-mend', lines: together.faults.flatMap(linesOf) };
  if (moved !== null) return { is: 'put-back' };
  if (v.lines.every((line) => line.notProven?.length === 0)) return { is: 'settled' };
  return { is: 'settle-the-rest', byReference: !hasReference };
};

const crossingBounds = (trials: readonly Trial[]): CrossingBound[] =>
  (['A', 'D'] as const).flatMap((bus) => {
    const pairs = trials.filter(({ fault }) => fault.kind === 'crossed' && busOf(fault.lines[0]) === bus);
    const alike = pairs.filter((t) => t.ruledOutBy.length === 0).length;
    return alike === 0 ? [] : [{ bus, alike, pairs: pairs.length }];
  });

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

const unexplainedRemark = (
  amiss: readonly RigTest[],
  reference: ReadbackVerdict | null,
  notRuledOut: readonly WiringFault[],
): RigRemark => {
  if (chipInDoubt(amiss, reference, notRuledOut)) return { is: 'other-reference' };
  if (notRuledOut.length > 0) return { is: 'not-shown', faults: notRuledOut };
  return { is: 'no-single-fault', tests: amiss.map((t) => t.name) };
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
    ...sizes.map((cells) => ({ fault: null, cells, unused: linesAbove(o.part, cells) })),
    ...shown.map((fault) => ({ fault })),
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
  const remarks = registerRemarks(o);
  if (spot.length > 0) remarks.push({ is: 'bad-spot', cells: spot });
  else if (unexplained) remarks.push(unexplainedRemark(amiss, reference, fitting));
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
  const judged = (line: LineName): LineProof => {
    if (moved !== null) return placed(line, moved, [referenceTest], o.followed ?? 0xff);
    if (unexplained && !inDoubt) return unproven(line);
    const names = amiss.map((t) => t.name);
    const unused = sizes.map((cells) => linesAbove(o.part, cells));
    return blamed(line, shown, unused, names) ?? proofOf(line, beside);
  };
  const verdict = {
    // A chain without its return cannot be counted, which is a remark and no fault.
    part: o.part,
    sound: !isAmiss && (remarks.length === 0 || o.registers === 0),
    tests: tests.map((t) => t.name),
    explanations,
    remarks,
    lines: [...addressLineNames(o.part.addressLines), ...dataLineNames].map(judged),
    bounds: isAmiss ? [] : crossingBounds(trials),
    referenceName: o.reference?.wanted.name ?? null,
    unseen: isAmiss ? [] : fitting,
    chipInDoubt: sizes.length > 0 || inDoubt,
    reference,
  };
  return { ...verdict, next: nextStep(verdict, moved) };
};
