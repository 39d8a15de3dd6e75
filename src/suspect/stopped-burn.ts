// Burns that did not take, as they went block by block: the writer's faulty line made blocks fail, and the burn stopped early.
import type { Part } from '../chip/part.js';
import type { WiringFault } from '../chip/wiring-fault.js';
import { blockOfPage } from '../chip/write-line.js';
import { byteSent, sentBy, sentThrough } from './burn-model.js';
import { joiningFaults, nameOf, pageSizes, unreached } from './burned-through.js';
import { type Candidate, ifExact, wires } from './candidate.js';
import { type Before, heldBefore } from './held-before.js';
import { byteTable, steps } from './line-map.js';
import { type ByteAt, faultBits, type ReadbackCase } from './readback-case.js';
import { addressLineNames, dataLineNames, singleFaultsOn, wiringOf } from './wiring.js';

/** The fault, and that the burn did not go as it should. */
const cost = 2;

/** A burn through such a fault stops soon; one that goes on for longer is not followed. */
const blocksMost = 128;

/** Some bytes, such as FF, stand nearly everywhere; one that is not the expected one tells a bit all the same. */
const toldBy = (c: ReadbackCase, a: number, expected: number): number =>
  expected === -1 || expected === c.actual[a] ? 0 : Math.max(1, c.bitsOf[c.actual[a]!]!);

/** Bits by which the readback differs from what a sound writer would have left, wherever that stopped at best. */
const differsFromSound = (c: ReadbackCase, before: Before, sent: Uint8Array): number => {
  let told = 0;
  for (let a = 0; a < c.cells; a++) told += toldBy(c, a, unreached(c, before, a));
  let least = told;
  for (let a = 0; a < c.cells; a++) {
    if (sent[a] !== 1) continue;
    told += toldBy(c, a, byteSent(c, before, a)) - toldBy(c, a, unreached(c, before, a));
    least = Math.min(least, told);
  }
  return least;
};

/** The same where a sound writer left out any cells, here and there. */
const differsFromPatches = (c: ReadbackCase, before: Before): number => {
  let told = 0;
  for (let a = 0; a < c.cells; a++)
    told += Math.min(toldBy(c, a, unreached(c, before, a)), toldBy(c, a, byteSent(c, before, a)));
  return told;
};

/**
 * Ends of blocks at which a burn through a fault may have stopped; none where a sound writer that stopped explains as much.
 * Where nothing differs above, the burn went through.
 */
const faultyEnds = (c: ReadbackCase, before: Before, page: number, sent: Uint8Array): ReadonlySet<number> => {
  const ends = new Set<number>();
  if (differsFromSound(c, before, sent) <= cost * faultBits) return ends;
  const block = blockOfPage(page);
  const last = c.differing.at(-1)!;
  for (let end = block; end <= Math.min(c.cells, blocksMost * block); end += block)
    if (end <= last || end === c.cells) ends.add(end);
  return ends;
};

/** What of the burn was written. */
interface Left {
  readonly stoppedAt?: number | null;
  readonly blocksWritten?: number;
}

const stoppedAt = (c: ReadbackCase, end: number): Left => ({ stoppedAt: end >= c.cells ? null : end });

const said = (fault: WiringFault, when: 'both' | 'burning', left: Left) => ({
  kind: fault.kind,
  faults: [fault],
  cost,
  cause: wires(when, left),
});

interface AddressFault {
  readonly fault: WiringFault;
  readonly level: 0 | 1;
  /** It joins a line that is the same for a whole page with one that is not. */
  readonly spills: boolean;
  /** Loads of one page name several: which of them the chip takes is its own affair. */
  readonly kept: 'first' | 'last';
}

/** Faults that make blocks fail: cells are joined, or the loads of one page name several. */
const failingFaults = (c: ReadbackCase, page: number): AddressFault[] => {
  const inPage = Math.log2(page);
  const lines = addressLineNames(c.addressLines);
  const isInside = (line: string): boolean => Number(line.slice(1)) < inPage;
  const spills = ({ fault }: { fault: WiringFault }): boolean =>
    'lines' in fault && isInside(fault.lines[0]) !== isInside(fault.lines[1]);
  const crossed = singleFaultsOn(lines)
    .filter(({ kind }) => kind === 'crossed')
    .map((fault) => ({ fault, level: 1 as const }));
  const joining = joiningFaults(c);
  return [
    ...joining.map((f) => ({ ...f, spills: spills(f), kept: 'last' as const })),
    ...[...joining, ...crossed].filter(spills).map((f) => ({ ...f, spills: true, kept: 'first' as const })),
    ...crossed.filter(spills).map((f) => ({ ...f, spills: true, kept: 'last' as const })),
  ];
};

/**
 * No end lies below this: what reads otherwise than unwritten cells was written, by an address that differs from its cell in
 * the lines of `mask` at most. A few of the highest such addresses are looked at.
 */
const leastEnd = (c: ReadbackCase, before: Before, mask: number, through: (a: number) => number): number => {
  let [least, left] = [0, 16];
  for (let a = c.cells - 1; a >= 0 && left > 0; a--) {
    if (c.actual[a] === heldBefore(before, through(a))) continue;
    least = Math.max(least, through(a) & ~mask);
    left--;
  }
  return least;
};

/** Addresses that a fault sends to another cell, a few of them spread over the chip. */
const movedAddresses = (c: ReadbackCase, through: (a: number) => number): number[] => {
  // An odd stride meets every line at both levels.
  const stride = Math.floor(c.cells / 509) | 1;
  const moved: number[] = [];
  for (let a = c.cells - 1; a >= 0 && moved.length < 64; a -= stride) if (through(a) !== a) moved.push(a);
  return moved;
};

/** The burn through one fault of address lines, block after block, and after each the readback that it would give. */
const burnThrough = (
  c: ReadbackCase,
  before: Before,
  page: number,
  { fault, level, spills, kept }: AddressFault,
  supposed: { readonly sent: Uint8Array; readonly ends: ReadonlySet<number> },
): Candidate[] => {
  const { ends } = supposed;
  const { address } = wiringOf([fault], () => level)!;
  const through = (a: number): number => steps(address, a);
  // What the fault sends to one cell reads alike; a cell that it never reaches holds what it held.
  const moved = movedAddresses(c, through);
  const readThrough = fault.kind === 'crossed' || moved.every((a) => c.actual[a] === c.actual[through(a)]);
  // Loads that spill into another page write cells that the fault sends elsewhere.
  const readStraight = spills || moved.every((a) => c.actual[a] === heldBefore(before, a));
  if (!readThrough && !readStraight) return [];
  const last = Math.max(...ends);
  if (leastEnd(c, before, address[0]!.p, through) > last) return [];
  const cells = Int16Array.from({ length: c.cells }, (_, cell) =>
    c.defined[cell] === 1 || before !== null ? heldBefore(before, cell) : -1,
  );
  // Erased cells look alike through any line.
  const sent = before === null ? supposed.sent : sentThrough(c, before, page, through);
  const block = blockOfPage(page);
  for (let start = 0; start < last; start += block) {
    const loads: number[] = [];
    for (let a = start; a < start + block; a++) if (sent[a] === 1) loads.push(a);
    const named = through((kept === 'last' ? loads.at(-1) : loads[0]) ?? 0) & ~(page - 1);
    // Without page mode each cell has its own address.
    for (const a of loads) cells[page === 1 ? through(a) : named | (through(a) & (page - 1))] = byteSent(c, before, a);
    const end = start + block;
    if (!ends.has(end)) continue;
    const found = [
      ...(readThrough ? ifExact(c, said(fault, 'both' as const, stoppedAt(c, end)), (a) => cells[through(a)]!) : []),
      ...(readStraight ? ifExact(c, said(fault, 'burning' as const, stoppedAt(c, end)), (a) => cells[a]!) : []),
    ];
    if (found.length > 0) return found;
  }
  return [];
};

/**
 * How far each block was written, as the readback shows it: behind the last cell that does not read what it held (`left`), a
 * page as a whole. Null where a cell reads neither that nor what it was sent (`took`).
 */
function patchesOf(c: ReadbackCase, page: number, sent: Uint8Array, took: ByteAt, left: ByteAt): Patches | null {
  const block = blockOfPage(page);
  const isWritten = new Uint8Array(c.cells);
  let count = 0;
  const reads = (a: number, byte: number): boolean => byte === -1 || byte === c.actual[a];
  for (let start = 0; start < c.cells; start += block) {
    let last = Math.min(start + block, c.cells) - 1;
    while (last >= start && reads(last, left(last))) last--;
    if (last < start) continue;
    count++;
    for (let a = start; a <= (page === 1 ? last : start + block - 1); a++) {
      if (sent[a] === 1 ? !reads(a, took(a)) : !reads(a, left(a))) return null;
      isWritten[a] = sent[a]!;
    }
  }
  return { isWritten, count };
}

interface Patches {
  readonly isWritten: Uint8Array;
  /** Blocks of which anything was written. */
  readonly count: number;
}

/** Where the writer takes the end of a write too early, as by a line that it asks whether the chip is ready, blocks here and there are lost. */
const inPatches = ({ count }: Patches): Left => ({ blocksWritten: count });

/** Data lines that were wrong at burning, alone or at reading as well; crossed or inverted ones cancel out, and make no block fail. */
const dataCandidates = (c: ReadbackCase, before: Before, page: number, ends: ReadonlySet<number>): Candidate[] => {
  const patchesTell = differsFromPatches(c, before) > cost * faultBits;
  return singleFaultsOn(dataLineNames).flatMap((fault) => {
    if (fault.kind !== 'stuck' && fault.kind !== 'shorted') return [];
    const table = byteTable(wiringOf([fault])!.data);
    const seen = (a: number): number => table[heldBefore(before, a)]!;
    const sent = sentBy(c, before, page, seen, (byte) => byte === -1 || table[byte] === byte);
    const through = (byte: number): number => (byte === -1 ? -1 : table[byte]!);
    const took = (a: number): number => through(byteSent(c, before, a));
    const times = [
      { when: 'both' as const, left: (a: number) => through(heldBefore(before, a)) },
      { when: 'burning' as const, left: (a: number) => unreached(c, before, a) },
    ];
    for (const end of ends) {
      const found = times.flatMap(({ when, left }) =>
        ifExact(c, said(fault, when, stoppedAt(c, end)), (a) => (a < end && sent[a] === 1 ? took(a) : left(a))),
      );
      if (found.length > 0) return found;
    }
    if (!patchesTell) return [];
    return times.flatMap(({ when, left }) => {
      const patches = patchesOf(c, page, sent, took, left);
      if (patches === null || patches.count === 0) return [];
      return ifExact(c, said(fault, when, inPatches(patches)), (a) => (patches.isWritten[a] === 1 ? took(a) : left(a)));
    });
  });
};

/** Lines of the writer that burned the chip, by the first page size that explains; where it stopped, what is above is no evidence. */
export const stoppedBurnCandidates = (c: ReadbackCase, before: Before, part: Part | null): Candidate[] => {
  for (const page of pageSizes(part)) {
    const sent = sentBy(c, before, page);
    const ends = faultyEnds(c, before, page, sent);
    if (ends.size === 0) continue;
    const known = new Set<string>();
    const found = [
      ...failingFaults(c, page).flatMap((f) => burnThrough(c, before, page, f, { sent, ends })),
      ...dataCandidates(c, before, page, ends),
      // What fits at both levels of an open line, or whichever page is taken, is one explanation.
    ].filter((one) => !known.has(nameOf(one)) && known.add(nameOf(one)));
    if (found.length > 0) return found;
  }
  return [];
};
