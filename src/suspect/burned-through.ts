// Faults that were there when the chip was burned: lines that join cells leave the byte burned last, and cells never reached keep what they held.

import type { Part } from '../chip/part.js';
import type { WiringFault } from '../chip/wiring-fault.js';
import { addressText } from '../ground/quantity.js';
import { type Candidate, ifExact } from './candidate.js';
import { faultWords, sentence } from './fault-words.js';
import { steps } from './line-map.js';
import type { ByteAt, ReadbackCase } from './readback-case.js';
import { addressLineNames, singleFaultsOn, wiringOf } from './wiring.js';

/** What a cell held before the burn; null when that is not known and an erased cell (FF) is supposed. */
export type Before = Uint8Array | null;

export const heldBefore = (before: Before, cell: number): number => (before === null ? 0xff : (before[cell] ?? 0xff));

/**
 * The byte in `cell` after an ascending burn, when the addresses that reach it are among `cell` with any setting of the
 * lines in `mask`: the last defined one that reaches it. -1 where it was never reached.
 */
const burnedLast = (c: ReadbackCase, cell: number, mask: number, burning: (address: number) => number): number => {
  // Settings of the mask in descending order, by the usual trick of counting down inside a mask.
  for (let setting = mask, more = true; more; more = setting !== 0, setting = (setting - 1) & mask) {
    const a = (cell & ~mask) | setting;
    if (burning(a) === cell && c.defined[a] === 1) return c.wanted[a]!;
  }
  return -1;
};

/** What a cell holds that no address reached: what it held before where the image defines it, else nobody knows (-1). */
const unreached = (c: ReadbackCase, before: Before, cell: number): number =>
  c.defined[cell] === 1 ? heldBefore(before, cell) : -1;

/** Stuck or shorted address lines that were there at burning, alone or at reading as well. */
export const burnedThroughCandidates = (c: ReadbackCase, before: Before): Candidate[] =>
  singleFaultsOn(addressLineNames(c.addressLines)).flatMap((fault) => {
    if (fault.kind !== 'stuck' && fault.kind !== 'shorted') return [];
    const { address } = wiringOf([fault])!;
    const mask = address[0]!.p;
    const burning = (a: number): number => steps(address, a);
    const through = (reading: (a: number) => number): ByteAt => {
      return (a) => {
        const cell = reading(a);
        const burned = burnedLast(c, cell, mask, burning);
        return burned === -1 ? unreached(c, before, cell) : burned;
      };
    };
    return [
      ...ifExact(c, said(fault, 'burned, and when it was read'), through(burning)),
      ...ifExact(
        c,
        said(fault, 'burned, but not when it was read'),
        through((a) => a),
      ),
    ];
  });

const said = (fault: WiringFault, when: string) =>
  ({
    kind: fault.kind,
    faults: [fault],
    text: sentence(`${faultWords(fault)}, and was so when the chip was ${when}`),
    evidence: [
      'Cells that two addresses share hold the byte burned last; cells that none reached hold what was there before.',
    ],
    next: 'Run the rig check with a scratch chip (`romkiln rig --scratch`): it finds stuck and shorted address lines of the writer that burned this chip.',
  }) as const;

/** A chip with fewer cells than the image: the high addresses wrap, and the bytes burned last stay. */
export const smallerChipCandidates = (c: ReadbackCase): Candidate[] => {
  for (let lines = c.addressLines - 1; lines >= 7; lines--) {
    const low = 2 ** lines - 1;
    const wrap = (a: number): number => a & low;
    if (c.actual.some((byte, a) => byte !== c.actual[wrap(a)])) continue;
    const size = `${2 ** lines} cells`;
    const suspicion = (text: string) =>
      ({
        kind: 'smaller-chip',
        text,
        evidence: [`The readback repeats every ${addressText(2 ** lines, c.cells)} addresses.`],
        next: `Read the part number on the chip; a part with ${size} has no pin for A${lines}.`,
      }) as const;
    const found = [
      ...ifExact(
        c,
        suspicion(
          `The chip has only ${size}: higher addresses wrapped while it was burned, and the bytes burned last stayed.`,
        ),
        (a) => burnedLast(c, wrap(a), c.cells - 1 - low, wrap),
      ),
      ...ifExact(
        c,
        suspicion(
          `The chip has only ${size} and holds the first ${size} of the image; higher addresses read them again.`,
        ),
        (a) => (c.defined[wrap(a)] === 1 ? c.wanted[wrap(a)]! : -1),
      ),
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
        text: `Blocks of ${block} bytes were burned into a part with pages of ${page}: of each block only the page named ${kept} was written, with the bytes loaded last.`,
        evidence: [
          `In every block of ${block} bytes one page of ${page} holds the block's last bytes, the rest was not written.`,
        ],
        next: `Read the part number on the chip and choose that part; its page has ${page} bytes.`,
      },
      (a) => {
        const burned = burnedLast(c, a, block - page, burning);
        return burned === -1 ? unreached(c, before, a) : burned;
      },
    );
  });
