// Wires that were faulty when the chip was burned, as a table of worlds to be played.
import type { Part } from '../chip/part.js';
import type { WiringFault } from '../chip/wiring-fault.js';
import { blockOfPage } from '../chip/write-line.js';
import { patchedAccount, soundAccount } from './burn-account.js';
import { blindBlock, exactly, firstFitting, pageSizes, soundWires, usualPages, wiresOf } from './burn-search.js';
import { type Before, BurnPlay, type BurnWorld, heldAt, SendPlan, type Wires } from './burn-world.js';
import { type Candidate, wires } from './candidate.js';
import { steps } from './line-map.js';
import { faultBits, type Prediction, type ReadbackCase } from './readback-case.js';
import { addressLineNames, dataLineNames, singleFaultsOn, wiringOf } from './wiring.js';

type When = 'both' | 'burning';

/** A fault of the burn in the world that it makes. */
interface BurnFault {
  readonly fault: WiringFault;
  readonly wires: Wires;
  readonly mask: number;
  /** It joins a line that is the same for a whole page with one that is not: which page a chip takes then is its own affair. */
  readonly spills: (page: number) => boolean;
}

const burnFault = (fault: WiringFault): BurnFault => {
  const wiring = wiringOf([fault])!;
  const mask = wiring.address.reduce((lines, s) => lines | s.p | (s.kind === 'swap' ? s.q : 0), 0);
  const spills = (page: number): boolean => (mask & (page - 1)) !== 0 && (mask & ~(page - 1)) !== 0;
  return { fault, wires: wiresOf(wiring), mask, spills };
};

/** Lines that are stuck or joined. Crossed ones cancel out, except where a block's loads name several pages. */
const burnFaults = (c: ReadbackCase): BurnFault[] =>
  [...singleFaultsOn(addressLineNames(c.addressLines)), ...singleFaultsOn(dataLineNames)]
    .filter(
      (fault) =>
        fault.kind === 'stuck' ||
        fault.kind === 'shorted' ||
        (fault.kind === 'crossed' && fault.lines[0].startsWith('A')),
    )
    .map(burnFault);

function* worldsOf(
  c: ReadbackCase,
  { wires: burning, mask, spills, fault }: BurnFault,
  when: When,
  before: Before,
  pages: readonly number[],
): Generator<BurnWorld> {
  const reading = when === 'both' ? burning : soundWires;
  const world = { before, burning, reading, mask, addresses: c.cells } as const;
  // Over unknown bytes nobody knows what a careful writer left alone, so that it burns as a blind one does.
  const writers = before === 'unknown' && mask !== 0 ? [false] : [true, false];
  const anyPage = pages.find((page) => !spills(page));
  const isToldSeen = when === 'burning' && typeof before !== 'string';
  for (const isSeenThrough of isToldSeen ? [false, true] : [false])
    for (const [isCareful, page] of writers.flatMap((careful) => pages.map((size) => [careful, size] as const))) {
      if (fault.kind === 'crossed' && !spills(page)) continue;
      // A blind writer sends all, so that only a page which spills makes a difference.
      if (!isCareful && !spills(page) && page !== anyPage) continue;
      const block = page === 1 && !isCareful ? blindBlock : blockOfPage(page);
      for (const kept of spills(page) ? (['last', 'first'] as const) : (['last'] as const))
        yield { ...world, isSeenThrough, isCareful, page, block, kept };
    }
}

/** An open line that happens to sit at one level cannot be told from a stuck one. */
const twins = (fault: WiringFault): readonly WiringFault[] =>
  fault.kind === 'stuck' && fault.line.startsWith('A') ? [fault, { kind: 'open', line: fault.line }] : [fault];

/** A cell holds what it held, or what some address that differs from it in the lines of the fault brought: a few cells tell. */
const mayBe = (c: ReadbackCase, { wires: burning, mask, spills }: BurnFault, when: When, before: Before): boolean => {
  if (mask === 0 || before === 'unknown') return true;
  const maySpill = usualPages.some(spills);
  const isToldSeen = when === 'burning' && before !== 'erased';
  return c.probes.every((a) => {
    const cell = when === 'both' ? steps(burning.address, a) : a;
    const byte = c.actual[a]!;
    const held = heldAt(c, before, cell);
    if (held === -1 || held === byte) return true;
    if (isToldSeen && (maySpill || steps(burning.address, cell) !== cell)) return true;
    for (let setting = mask, more = true; more; more = setting !== 0, setting = (setting - 1) & mask) {
      const from = (cell & ~mask) | setting;
      if (!maySpill && steps(burning.address, from) !== cell) continue;
      if (c.defined[from] !== 1 || c.wanted[from] === byte) return true;
    }
    return false;
  });
};

/** The fault, and where the burn stopped that as well. */
const costOf = (isStopped: boolean): number => (isStopped ? 2 : 1);

/**
 * Wires that were faulty when the chip was burned, alone or when it was read as well. A sound writer that stopped somewhere is
 * the simpler account: a fault has to tell more than that.
 */
export const burnedThroughCandidates = (
  c: ReadbackCase,
  before: Before,
  part: Part | null,
  soundBits = soundAccount(c, before),
): Candidate[] => {
  const pages = pageSizes(part);
  if (soundBits <= costOf(false) * faultBits) return [];
  // Through address lines erased cells look alike, whichever is faulty.
  const plans = new Map<string, SendPlan>();
  const planOf = (world: BurnWorld): SendPlan => {
    if (world.mask === 0 || typeof before !== 'string') return new SendPlan(c, world);
    const key = `${world.page} ${world.block} ${world.isCareful}`;
    const plan = plans.get(key) ?? new SendPlan(c, world);
    plans.set(key, plan);
    return plan;
  };
  return burnFaults(c).flatMap((f) =>
    (['both', 'burning'] as const).flatMap((when) => {
      if (!mayBe(c, f, when, before)) return [];
      const played = firstFitting(c, worldsOf(c, f, when, before, pages), true, planOf);
      if (played === null) return [];
      const { play, blocks } = played;
      const isStopped = blocks < play.blocks;
      if (soundBits <= costOf(isStopped) * faultBits) return [];
      const cause = wires(when, { stoppedAt: isStopped ? blocks * play.world.block : null });
      const suspicion = { kind: f.fault.kind, faults: [f.fault], cause, cost: costOf(isStopped) };
      return exactly(c, suspicion, play.predictionAfter(blocks))
        .filter((one) => one.fit.bits < soundBits)
        .flatMap((one) => twins(f.fault).map((fault) => ({ ...one, kind: fault.kind, faults: [fault] })));
    }),
  );
};

/**
 * A data line on which the writer asks whether a write is over, and takes its end too early: blocks here and there are lost.
 * Each was written as far as the readback shows it, without page mode up to the last cell that does not read what it held.
 */
export const lostBlockCandidates = (c: ReadbackCase, before: Before, part: Part | null): Candidate[] => {
  if (patchedAccount(c, before) <= 2 * faultBits) return [];
  return singleFaultsOn(dataLineNames).flatMap((fault) => {
    if (fault.kind !== 'stuck' && fault.kind !== 'shorted') return [];
    const burning = wiresOf(wiringOf([fault])!);
    return (['both', 'burning'] as const).flatMap((when) => {
      for (const page of pageSizes(part)) {
        const reading = when === 'both' ? burning : soundWires;
        const world = {
          before,
          burning,
          reading,
          mask: 0,
          addresses: c.cells,
          kept: 'last',
          isCareful: true,
          isSeenThrough: false,
        } as const;
        const play = new BurnPlay(c, { ...world, page, block: blockOfPage(page) });
        const lost = lostIn(play);
        if (lost === null || lost.written === 0) continue;
        const cause = wires(when, { blocksWritten: lost.written });
        return exactly(c, { kind: fault.kind, faults: [fault], cause, cost: 2 }, lost.prediction);
      }
      return [];
    });
  });
};

const lostIn = (play: BurnPlay): { readonly written: number; readonly prediction: Prediction } | null => {
  const { c, world } = play;
  const prediction = new Int16Array(c.cells);
  let written = 0;
  const reads = (a: number, byte: number): boolean => byte === -1 || byte === c.actual[a];
  for (let start = 0; start < c.cells; start += world.block) {
    const end = Math.min(start + world.block, c.cells);
    let last = end - 1;
    while (last >= start && reads(last, play.readAfter(last, 0))) last--;
    if (last >= start) written++;
    const upTo = last < start ? start : world.page === 1 ? last + 1 : end;
    for (let a = start; a < end; a++) {
      prediction[a] = play.readAfter(a, a < upTo ? play.blocks : 0);
      if (!reads(a, prediction[a]!)) return null;
    }
  }
  return { written, prediction };
};

/**
 * The same over bytes that nobody knows, where the shortest account so far takes `bits`. A sound writer that stopped before the
 * first wrong byte explains whatever stands behind: a fault has to give a shorter account than that, and none much longer than
 * the shortest.
 */
export const burnedOverUnknown = (c: ReadbackCase, part: Part | null, bits: number): Candidate[] => {
  let soundBits = -faultBits;
  for (let a = c.differing[0] ?? c.cells; a < c.cells; a++)
    if (c.defined[a] === 1) soundBits += c.supposedBits[c.actual[a]!]!;
  const found = burnedThroughCandidates(c, 'unknown', part, soundBits);
  const shortest = Math.min(bits, ...found.map((one) => one.fit.bits));
  return found.filter((one) => one.fit.bits <= shortest + faultBits);
};
