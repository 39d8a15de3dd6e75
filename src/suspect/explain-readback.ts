// From a readback to the explanations that reproduce it, simplest first, or to an honest "none of these".

import type { Part } from '../chip/part.js';
import { linesOf } from '../chip/wiring-fault.js';
import { ToolError } from '../ground/errors.js';
import type { Image } from '../image/image.js';
import type { Rom } from '../plan/rom.js';
import { burnedOverUnknown, burnedThroughCandidates, lostBlockCandidates } from './burn-candidates.js';
import type { Candidate } from './candidate.js';
import { pageTooLargeCandidates, smallerChipCandidates } from './chip-candidates.js';
import { correctedPins, permutationOfWiring } from './corrected-pins.js';
import type { Explanation, ReadbackVerdict } from './explanation.js';
import type { Supposed } from './held-before.js';
import { permutationCandidate } from './moved-lines.js';
import { nextMeasurement } from './next-measurement.js';
import { pageCandidates } from './page-patterns.js';
import { adviceOn, patternOf } from './pattern.js';
import { solvePermutation } from './permutation.js';
import { faultBits, type ReadbackCase, readbackCase } from './readback-case.js';
import { unsteadinessOf, unsteadyCandidates, wanderingAddressCandidates } from './unsteady.js';
import { emptyCandidates, polarityCandidates, shiftCandidates, swappedCandidates } from './whole-patterns.js';
import { nearFaults, pairCandidates, singleFaultCandidates } from './wiring-search.js';

export interface ReadbackOptions {
  /** The part that was burned, where known: its page size is then the only one tried, and none where it is written cell by cell. */
  readonly part?: Part;
  /** Other images of the same set. */
  readonly others?: readonly Image[];
  /** Further readbacks of the same chip, as long as the first. */
  readonly passes?: readonly Uint8Array[];
  /** What the chip held before it was burned, where the keep knows it. */
  readonly before?: Uint8Array;
  /** The writer's presence mask: data lines that followed the charge. */
  readonly followed?: number;
  /** The ROM of a plan, for corrected pin lists. */
  readonly rom?: Rom;
}

/** Most explanations listed; the rest is counted. */
const listedMax = 24;
const partialMax = 3;

interface Found {
  readonly candidates: readonly Candidate[];
  readonly more: number;
}

const beforeOf = (o: ReadbackOptions): Supposed => o.before ?? 'erased';

/** Whatever one cause explains, before any pair of causes is tried. */
const oneCause = (c: ReadbackCase, o: ReadbackOptions): Candidate[] => {
  const part = o.part ?? null;
  const before = beforeOf(o);
  const whole = [
    ...swappedCandidates(c, o.others ?? [], before),
    ...polarityCandidates(c),
    ...singleFaultCandidates(c),
    ...smallerChipCandidates(c, before, part),
    ...pageTooLargeCandidates(c, before, part),
    ...shiftCandidates(c),
  ];
  // A fault at burning is worth naming where it explains no less than one at reading, and that blames other lines or levels.
  const exact = whole.filter((w) => w.fit.exact);
  const bits = Math.min(...exact.map((w) => w.fit.bits));
  const burned = burnedThroughCandidates(c, before, part).filter((b) => {
    if (b.fit.bits > bits + (b.kind === 'crossed' ? -1 : faultBits)) return false;
    const blamed = exact.filter((w) => JSON.stringify(lineKey(w)) === JSON.stringify(lineKey(b)));
    const levels = blamed.map((w) => stuckLevel(w));
    return blamed.length === 0 || (stuckLevel(b) !== null && !levels.includes(stuckLevel(b)));
  });
  const toTheEnd = [...whole, ...burned.filter((b) => !isStopped(b))];
  return toTheEnd.some((one) => one.fit.exact) ? toTheEnd : [...toTheEnd, ...burned];
};

const lineKey = (one: Candidate): unknown => one.faults.map(linesOf);

const isStopped = ({ cause }: Candidate): boolean => cause.is === 'wires' && cause.stoppedAt !== null;

const stuckLevel = ({ faults: [fault] }: Candidate): 0 | 1 | null => (fault?.kind === 'stuck' ? fault.level : null);

const steadySearch = (c: ReadbackCase, o: ReadbackOptions): Found => {
  const empty = emptyCandidates(c, o.followed ?? null);
  if (empty.length > 0) return { candidates: [...empty, ...singleFaultCandidates(c)], more: 0 };
  const alone = oneCause(c, o);
  const lost = alone.some((one) => one.fit.exact) ? [] : lostBlockCandidates(c, beforeOf(o), o.part ?? null);
  const single = [...alone, ...lost];
  const exact = single.filter((one) => one.fit.exact);
  const pages = pageCandidates(c, beforeOf(o), o.part ?? null);
  const simplest = exact.some((one) => one.cost === 1 && one.fit.silent.length === 0);
  const solved = exact.some((one) => one.permutation !== null) ? null : solvePermutation(c);
  const permutation = (solved === null ? [] : [permutationCandidate(c, solved)]).filter((one) => one.fit.exact);
  if (simplest) {
    // A crossing found as a fault and as a permutation is one explanation; the permutation brings what else fits.
    const known = exact.find((one) => one.kind === 'crossed');
    if (known !== undefined && permutation[0]?.cost === 1)
      return {
        candidates: withoutEchoes([
          ...single.map((one) => (one === known ? asPermutation(one, permutation[0]!) : one)),
          ...pages,
        ]),
        more: 0,
      };
    return { candidates: withoutEchoes([...single, ...permutation, ...pages]), more: 0 };
  }
  // Two faults are worth naming only where they say more than one does.
  const pairs = pairCandidates(c, listedMax, Math.min(...exact.map((one) => one.fit.bits)));
  const twoCrossings = permutation.some((p) => p.cost === 2);
  const distinct = pairs.found.filter((pair) => !(twoCrossings && samePermutation(pair, permutation[0]!, c)));
  const moved = permutation.filter((p) => !exact.some((known) => samePermutation(known, p, c)));
  const all = [...single, ...moved, ...pages, ...distinct];
  // Cells left out here and there may as well be what a line that wanders makes of some.
  const isTold = all.some((one) => one.fit.exact && !(one.cause.is === 'pages' && one.cause.size === 1));
  const wandering = isTold ? [] : wanderingAddressCandidates(c, [c.actual, ...(o.passes ?? [])]);
  const known = [...all, ...wandering].filter((one) => one.fit.exact);
  // Bytes that nobody knows are supposed only where every account so far leaves something to them.
  const isWhole = o.before !== undefined || known.some((one) => one.fit.silent.length === 0);
  const shortest = Math.min(...known.map((one) => one.fit.bits));
  const overUnknown = isWhole ? [] : burnedOverUnknown(c, o.part ?? null, shortest);
  return { candidates: [...withoutEchoes(all), ...wandering, ...overUnknown], more: pairs.more };
};

const blamesLines = ({ fit, faults, permutation }: Candidate): boolean =>
  fit.exact && fit.silent.length === 0 && (faults.length > 0 || permutation !== null);

/** Pages with the bytes of others are what a line that is wrong makes of them, and no other explanation beside it. */
const withoutEchoes = (all: readonly Candidate[]): readonly Candidate[] =>
  all.some(blamesLines) ? all.filter((one) => one.kind !== 'pages-elsewhere') : all;

/** A crossing, with what the permutation that it is tells of others that fit as well. */
const asPermutation = (one: Candidate, { cause, permutation }: Candidate): Candidate => ({
  ...one,
  cause,
  permutation,
});

const samePermutation = (pair: Candidate, permutation: Candidate, c: ReadbackCase): boolean =>
  pair.wiring !== null &&
  JSON.stringify(permutationOfWiring(pair.wiring, c.addressLines)) === JSON.stringify(permutation.permutation);

const finished = (one: Candidate, rivals: readonly Candidate[], c: ReadbackCase, o: ReadbackOptions): Explanation => {
  const permutation =
    one.permutation ?? (one.wiring === null || !one.fit.exact ? null : permutationOfWiring(one.wiring, c.addressLines));
  return {
    kind: one.kind,
    cause: one.cause,
    faults: one.faults,
    permutation,
    cost: one.cost,
    explains: one.fit.explains,
    elsewhere: one.fit.elsewhere,
    silent: one.fit.silent,
    unexplained: one.fit.contradicted,
    exact: one.fit.exact,
    measurement: nextMeasurement(one, rivals, c.addressLines),
    correctedPins: permutation === null || o.rom === undefined ? null : correctedPins(permutation, o.rom),
  };
};

/**
 * Judges a readback against the wanted image. `readback` is the whole chip; an image shorter than the chip is undefined above
 * its end. An explanation is listed as exact only when it predicts every byte that was read wherever the image says enough.
 * Throws suspect.size, suspect.passes.
 */
export const explainReadback = (
  wanted: Image,
  readback: Uint8Array,
  options: ReadbackOptions = {},
): ReadbackVerdict => {
  const c = readbackCase(wanted, readback);
  const passes = [readback, ...(options.passes ?? [])];
  for (const pass of passes)
    if (pass.length !== readback.length)
      throw new ToolError('suspect.passes', { firstBytes: readback.length, passBytes: pass.length });
  const unsteady = unsteadinessOf(c, passes);
  const healthy = c.differing.length === 0 && unsteady.addresses.length === 0;
  const nothing = nothingFound(c, unsteady.undefinedCount);
  if (healthy) return { ...nothing, healthy };
  const { candidates, more }: Found =
    unsteady.addresses.length === 0
      ? steadySearch(c, options)
      : { candidates: [...unsteadyCandidates(c, passes, unsteady), ...wanderingAddressCandidates(c, passes)], more: 0 };
  const ranked = candidates
    .filter((one) => one.fit.exact)
    .sort((a, b) => a.fit.bits - b.fit.bits || a.cost - b.cost || b.fit.explains - a.fit.explains);
  const listed = ranked.slice(0, listedMax);
  const groups = [...new Set(listed.map(rankOf))]
    .map((rank) => listed.flatMap((one, i) => (rankOf(one) === rank ? [i] : [])))
    .filter((group) => group.length > 1);
  const rivalsOf = (one: Candidate): Candidate[] =>
    listed.filter((other) => other !== one && rankOf(other) === rankOf(one));
  const partial = ranked.length > 0 ? [] : nearFaults(c, partialMax).map((one) => finished(one, [], c, options));
  const isNone = ranked.length === 0;
  const known = {
    passes: passes.length,
    part: options.part ?? null,
    knowsBefore: options.before !== undefined,
    hasNear: partial.length > 0,
  };
  return {
    ...nothing,
    explanations: listed.map((one) => finished(one, rivalsOf(one), c, options)),
    unjudged: unjudgedOf(candidates, ranked[0]?.fit.bits ?? Number.POSITIVE_INFINITY),
    notListed: ranked.length - listed.length + more,
    equallyGood: groups,
    partial,
    pattern: isNone ? patternOf(c, unsteady) : null,
    advice: isNone ? adviceOn(c, unsteady, known) : null,
  };
};

/** Explanations of one rank are as simple and give an account as short. */
const rankOf = (one: Candidate): string => `${one.cost} ${Math.round(one.fit.bits)}`;

/** Faults that nothing contradicts and nothing shows, where no explanation gives a much shorter account. */
const unjudgedOf = (candidates: readonly Candidate[], bits: number): ReadbackVerdict['unjudged'] =>
  candidates
    .filter(
      ({ faults, fit }) =>
        faults.length === 1 && !fit.exact && fit.contradicted.length === 0 && fit.bits < bits + faultBits,
    )
    .sort((a, b) => a.fit.bits - b.fit.bits)
    .map((one) => ({ fault: one.faults[0]!, cause: one.cause }));

const nothingFound = (c: ReadbackCase, unsteadyUndefined: number): ReadbackVerdict => ({
  healthy: false,
  cells: c.cells,
  compared: c.compared,
  differing: c.differing.length,
  explanations: [],
  unjudged: [],
  notListed: 0,
  equallyGood: [],
  partial: [],
  pattern: null,
  advice: null,
  unsteadyUndefined,
});
