// Faults that were there when the chip was burned: lines that join cells leave the byte burned last, and cells never reached keep what they held.

import { membersOf } from '../chip/chip-table.js';
import type { Part } from '../chip/part.js';
import type { WiringFault } from '../chip/wiring-fault.js';
import { byteSent, sentBy, sentThrough } from './burn-model.js';
import { type Candidate, ifExact, wires } from './candidate.js';
import { type Before, heldBefore } from './held-before.js';
import { steps } from './line-map.js';
import type { ByteAt, ReadbackCase } from './readback-case.js';
import { addressLineNames, singleFaultsOn, wiringOf } from './wiring.js';

/**
 * The byte in `cell` after an ascending burn, when the addresses that reach it are among `cell` with any setting of the
 * lines in `mask`: that of the last of those `sent` that reaches it (-1: not known). Null where none does.
 */
const burnedLast = (
  c: ReadbackCase,
  before: Before,
  { cell, mask, sent }: { readonly cell: number; readonly mask: number; readonly sent: Uint8Array },
  burning: (address: number) => number,
): number | null => {
  // Settings of the mask in descending order, by the usual trick of counting down inside a mask.
  for (let setting = mask, more = true; more; more = setting !== 0, setting = (setting - 1) & mask) {
    const a = (cell & ~mask) | setting;
    if (burning(a) === cell && sent[a] === 1) return byteSent(c, before, a);
  }
  return null;
};

/** What a cell holds that no address reached: what it held before where the image defines it, else nobody knows (-1). */
export const unreached = (c: ReadbackCase, before: Before, cell: number): number =>
  c.defined[cell] === 1 ? heldBefore(before, cell) : -1;

/** Page sizes to suppose: the part's, or without a part the usual ones. */
export const pageSizes = (part: Part | null): readonly number[] =>
  part === null
    ? [64, 128, 32, 256, 16, 1]
    : [...new Set([...membersOf(part), part].map(({ pageBytes }) => pageBytes.value))].sort((a, b) => b - a);

/** Faults of address lines that join cells: lines that have one level whatever is asked for, and lines that are joined. */
export const joiningFaults = (c: ReadbackCase): { fault: WiringFault; level: 0 | 1 }[] =>
  addressLineNames(c.addressLines)
    .flatMap((line) => ([0, 1] as const).map((level) => ({ fault: { kind: 'open', line } as WiringFault, level })))
    .concat(
      singleFaultsOn(addressLineNames(c.addressLines))
        .filter(({ kind }) => kind === 'stuck' || kind === 'shorted')
        .map((fault) => ({ fault, level: 1 })),
    );

/** The first of several ways to burn that reproduces the readback. */
const firstExact = (tries: readonly (() => Candidate[])[]): Candidate[] => {
  for (const attempt of tries) {
    const found = attempt();
    if (found.length > 0) return found;
  }
  return [];
};

/** Stuck, open or shorted address lines that were there at burning, alone or at reading as well. */
export const burnedThroughCandidates = (c: ReadbackCase, before: Before, part: Part | null): Candidate[] => {
  // Erased cells look alike through any line.
  const burns = before === null ? pageSizes(part).map((page) => sentBy(c, before, page)) : null;
  const known = new Set<string>();
  return joiningFaults(c).flatMap(({ fault, level }) => {
    const { address } = wiringOf([fault], () => level)!;
    const mask = address[0]!.p;
    const burning = (a: number): number => steps(address, a);
    const sents = burns ?? pageSizes(part).map((page) => sentThrough(c, before, page, burning));
    const through =
      (reading: (a: number) => number, sent: Uint8Array): ByteAt =>
      (a) => {
        const cell = reading(a);
        const burned = burnedLast(c, before, { cell, mask, sent }, burning);
        return burned ?? unreached(c, before, cell);
      };
    const tried = (when: 'both' | 'burning', reading: (a: number) => number): Candidate[] =>
      firstExact(sents.map((sent) => () => ifExact(c, said(fault, when), through(reading, sent))));
    const found = [...tried('both', burning), ...tried('burning', (a) => a)];
    // An open line may fit at both levels, and is one explanation.
    return found.filter((one) => !known.has(nameOf(one)) && known.add(nameOf(one)));
  });
};

const said = (fault: WiringFault, when: 'both' | 'burning') => ({
  kind: fault.kind,
  faults: [fault],
  cause: wires(when),
});

/** Two that name the same lines at the same time are one. */
export const nameOf = ({ faults, cause }: Candidate): string => JSON.stringify([faults, cause]);

/** A chip with fewer cells than the image: the high addresses wrap, and the bytes burned last stay. */
export const smallerChipCandidates = (c: ReadbackCase, before: Before, part: Part | null): Candidate[] => {
  for (let lines = c.addressLines - 1; lines >= 7; lines--) {
    const low = 2 ** lines - 1;
    const wrap = (a: number): number => a & low;
    if (c.actual.some((byte, a) => byte !== c.actual[wrap(a)])) continue;
    const suspicion = (holds: 'last' | 'first') =>
      ({ kind: 'smaller-chip', cause: { is: 'smaller-chip', cells: 2 ** lines, holds } }) as const;
    const wrapped = suspicion('last');
    const reach = { mask: c.cells - 1 - low };
    // All that the image defines may have been sent, or only what was not right yet.
    const sents = [() => c.defined, ...pageSizes(part).map((page) => () => sentThrough(c, before, page, wrap))];
    const found = [
      ...firstExact(
        sents.map((sentBytes) => () => {
          const sent = sentBytes();
          return ifExact(
            c,
            wrapped,
            (a) => burnedLast(c, before, { ...reach, cell: wrap(a), sent }, wrap) ?? unreached(c, before, wrap(a)),
          );
        }),
      ),
      ...ifExact(c, suspicion('first'), (a) => (c.defined[wrap(a)] === 1 ? c.wanted[wrap(a)]! : -1)),
    ];
    if (found.length > 0) return found;
  }
  return [];
};

/** Blocks larger than the part's page wrap inside the page: of every block one page is written, with the bytes loaded last. */
export const pageTooLargeCandidates = (c: ReadbackCase, before: Before, part: Part | null): Candidate[] => {
  // A part that is written cell by cell is sent no blocks, and blocks of one have no smaller page.
  const blocks = part === null ? [32, 64, 128, 256] : [part.pageBytes.value];
  return blocks
    .filter((block) => block <= c.cells)
    .flatMap((block) =>
      [16, 32, 64, 128].filter((page) => page < block).flatMap((page) => pagesInBlocks(c, before, page, block)),
    );
};

const pagesInBlocks = (c: ReadbackCase, before: Before, page: number, block: number): Candidate[] =>
  // Which page a chip takes when the loads name several is its own affair: the one named last, or the one named first.
  (['last', 'first'] as const).flatMap((kept) => {
    const base = kept === 'last' ? block - page : 0;
    const burning = (a: number): number => (a & ~(block - 1)) | base | (a & (page - 1));
    return ifExact(
      c,
      {
        kind: 'page-too-large',
        cause: { is: 'page-too-large', block, page, kept },
      },
      (a) => {
        const burned = burnedLast(c, before, { cell: a, mask: block - page, sent: c.defined }, burning);
        return burned ?? unreached(c, before, a);
      },
    );
  });
