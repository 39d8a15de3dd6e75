// From a readback to the explanations that reproduce it, simplest first, or to an honest "none of these".

import type { Part } from '../chip/part.js';
import { linesOf } from '../chip/wiring-fault.js';
import { ToolError } from '../ground/errors.js';
import { countOf } from '../ground/quantity.js';
import type { Image } from '../image/image.js';
import type { Rom } from '../plan/rom.js';
import { burnedThroughCandidates, pageTooLargeCandidates, smallerChipCandidates } from './burned-through.js';
import type { Candidate } from './candidate.js';
import { correctedPins, permutationOfWiring } from './corrected-pins.js';
import type { Explanation, ReadbackVerdict } from './explanation.js';
import { verbFor } from './fault-words.js';
import type { Before } from './held-before.js';
import { nextMeasurement } from './next-measurement.js';
import { nearestFirst, nextSteps } from './next-steps.js';
import { pageCandidates } from './page-patterns.js';
import { patternWords } from './pattern-words.js';
import { solvePermutation } from './permutation.js';
import { permutationCandidate } from './permutation-words.js';
import { type Fit, faultBits, type ReadbackCase, readbackCase } from './readback-case.js';
import { stoppedBurnCandidates } from './stopped-burn.js';
import { type Unsteadiness, unsteadinessOf, unsteadyCandidates, wanderingAddressCandidates } from './unsteady.js';
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

/** Whatever one cause explains, before any pair of causes is tried. */
const oneCause = (c: ReadbackCase, o: ReadbackOptions): Candidate[] => {
  const part = o.part ?? null;
  const before: Before = o.before ?? null;
  const whole = [
    ...swappedCandidates(c, o.others ?? [], before),
    ...polarityCandidates(c),
    ...singleFaultCandidates(c),
    ...smallerChipCandidates(c, before, part),
    ...pageTooLargeCandidates(c, before, part),
    ...shiftCandidates(c),
  ];
  // A fault at burning is worth naming only where the same line is not already blamed for reading, or for the other level.
  const burned = burnedThroughCandidates(c, before, part).filter((b) => {
    const blamed = whole.filter((w) => w.fit.exact && JSON.stringify(lineKey(w)) === JSON.stringify(lineKey(b)));
    const levels = blamed.map((w) => stuckLevel(w));
    return blamed.length === 0 || (stuckLevel(b) !== null && !levels.includes(stuckLevel(b)));
  });
  return [...whole, ...burned];
};

const lineKey = (one: Candidate): unknown => one.faults.map(linesOf);

const stuckLevel = ({ faults: [fault] }: Candidate): 0 | 1 | null => (fault?.kind === 'stuck' ? fault.level : null);

const steadySearch = (c: ReadbackCase, o: ReadbackOptions): Found => {
  const empty = emptyCandidates(c, o.followed ?? null);
  if (empty.length > 0) return { candidates: [...empty, ...singleFaultCandidates(c)], more: 0 };
  const alone = oneCause(c, o);
  const stopped = alone.some((one) => one.fit.exact) ? [] : stoppedBurnCandidates(c, o.before ?? null, o.part ?? null);
  const single = [...alone, ...stopped];
  const exact = single.filter((one) => one.fit.exact);
  const pages = pageCandidates(c, o.before ?? null, o.part ?? null);
  const simplest = exact.some((one) => one.cost === 1 && one.fit.silent.length === 0);
  const solved = exact.some((one) => one.permutation !== null) ? null : solvePermutation(c);
  const permutation = (solved === null ? [] : [permutationCandidate(c, solved)]).filter((one) => one.fit.exact);
  if (simplest) {
    // A crossing found as a fault and as a permutation is one explanation; the permutation brings what else fits.
    const known = exact.find((one) => one.kind === 'crossed');
    if (known !== undefined && permutation[0]?.cost === 1)
      return {
        candidates: withoutEchoes([
          ...single.map((one) => (one === known ? withEvidence(one, permutation[0]!) : one)),
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
  const wandering = all.some((one) => one.fit.exact)
    ? []
    : wanderingAddressCandidates(c, [c.actual, ...(o.passes ?? [])]);
  return { candidates: [...withoutEchoes(all), ...wandering], more: pairs.more };
};

const blamesLines = ({ fit, faults, permutation }: Candidate): boolean =>
  fit.exact && fit.silent.length === 0 && (faults.length > 0 || permutation !== null);

/** Pages with the bytes of others are what a line that is wrong makes of them, and no other explanation beside it. */
const withoutEchoes = (all: readonly Candidate[]): readonly Candidate[] =>
  all.some(blamesLines) ? all.filter((one) => one.kind !== 'pages-elsewhere') : all;

const withEvidence = (one: Candidate, other: Candidate): Candidate => ({
  ...one,
  evidence: [...one.evidence, ...other.evidence],
});

const samePermutation = (pair: Candidate, permutation: Candidate, c: ReadbackCase): boolean =>
  pair.wiring !== null &&
  JSON.stringify(permutationOfWiring(pair.wiring, c.addressLines)) === JSON.stringify(permutation.permutation);

/** What a suspicion accounts for, and apart from that what it leaves to cells that the image does not define. */
const fitWords = (c: ReadbackCase, { explains, elsewhere, silent, contradicted }: Fit): string[] => {
  const differing = countOf(c.differing.length, 'differing address', 'differing addresses');
  const rest = contradicted.length === 0 ? ' and contradicts none' : `, and leaves ${contradicted.length} unexplained`;
  const words = [`It accounts for ${explains} of ${differing}${rest}.`];
  if (silent.length > 0)
    words.push(`It says nothing of ${silent.length} of them, which by it read cells that the image does not define.`);
  if (silent.length > 0 && elsewhere > 0)
    words.push(
      `${countOf(elsewhere, 'address', 'addresses')} that the image does not define ${verbFor(elsewhere, 'reads', 'read')} as the image has it where by this explanation ${verbFor(elsewhere, 'it reads', 'they read')}.`,
    );
  return words;
};

const finished = (one: Candidate, rivals: readonly Candidate[], c: ReadbackCase, o: ReadbackOptions): Explanation => {
  const permutation =
    one.permutation ?? (one.wiring === null || !one.fit.exact ? null : permutationOfWiring(one.wiring, c.addressLines));
  return {
    kind: one.kind,
    text: one.text,
    faults: one.faults,
    permutation,
    cost: one.cost,
    explains: one.fit.explains,
    silent: one.fit.silent,
    unexplained: one.fit.contradicted,
    exact: one.fit.exact,
    evidence: [...fitWords(c, one.fit), ...one.evidence],
    nextMeasurement: nextMeasurement(one, rivals, c.addressLines),
    correctedPins: permutation === null || o.rom === undefined ? null : correctedPins(permutation, o.rom),
  };
};

const boundsOf = (c: ReadbackCase, u: Unsteadiness): string[] => {
  const bounds = [
    'A readback shows what differs between the way the chip was burned and the way it was read: lines crossed or inverted in both cancel out, and lines crossed in one alone look the same whichever it was.',
  ];
  if (c.compared < c.cells)
    bounds.push(
      `${countOf(c.cells - c.compared, 'cell')} of the image ${verbFor(c.cells - c.compared, 'is undefined and carries', 'are undefined and carry')} no evidence.`,
    );
  if (u.undefinedCount > 0)
    bounds.push(
      `${countOf(u.undefinedCount, 'cell')} that the image does not define did not read the same in every pass.`,
    );
  return bounds;
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
  if (healthy) return { ...nothingFound(c), healthy, bounds: boundsOf(c, unsteady) };
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
  const steps =
    ranked.length > 0 ? [] : nextSteps(c, unsteady, passes.length, options.part ?? null, options.before !== undefined);
  return {
    ...nothingFound(c),
    explanations: listed.map((one) => finished(one, rivalsOf(one), c, options)),
    unjudged: unjudgedOf(candidates, ranked[0]?.fit.bits ?? Number.POSITIVE_INFINITY),
    notListed: ranked.length - listed.length + more,
    equallyGood: groups,
    partial,
    noneOfThese: ranked.length > 0 ? null : patternWords(c, unsteady),
    nextSteps: partial.length > 0 ? [nearestFirst, ...steps] : steps,
    bounds: boundsOf(c, unsteady),
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
    .map((one) => ({ fault: one.faults[0]!, text: one.text }));

const nothingFound = (c: ReadbackCase): ReadbackVerdict => ({
  healthy: false,
  compared: c.compared,
  differing: c.differing.length,
  explanations: [],
  unjudged: [],
  notListed: 0,
  equallyGood: [],
  partial: [],
  noneOfThese: null,
  nextSteps: [],
  bounds: [],
});
