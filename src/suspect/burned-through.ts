// Faults that were there when the chip was burned: lines that join cells leave the byte burned last, and cells never reached keep what they held.

import { membersOf } from '../chip/chip-table.js';
import type { Part } from '../chip/part.js';
import type { WiringFault } from '../chip/wiring-fault.js';
import { addressText } from '../ground/quantity.js';
import { byteSent, sentBy, sentThrough } from './burn-model.js';
import { type Candidate, ifExact } from './candidate.js';
import { faultWords, sentence, wasSo } from './fault-words.js';
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
    const tried = (when: string, reading: (a: number) => number): Candidate[] =>
      firstExact(sents.map((sent) => () => ifExact(c, said(fault, when), through(reading, sent))));
    const found = [
      ...tried('burned, and when it was read', burning),
      ...tried('burned, but not when it was read', (a) => a),
    ];
    // An open line may fit at both levels, and is one explanation.
    return found.filter(({ text }) => !known.has(text) && known.add(text));
  });
};

const said = (fault: WiringFault, when: string) =>
  ({
    kind: fault.kind,
    faults: [fault],
    text: sentence(`${faultWords(fault)}, ${wasSo(fault)} when the chip was ${when}`),
    evidence: [
      'Cells that two addresses share hold the byte burned last; cells that none reached hold what was there before.',
    ],
    next: 'Run the rig check with a scratch chip (`romkiln rig --scratch`): it finds stuck and shorted address lines of the writer that burned this chip.',
  }) as const;

/** A chip with fewer cells than the image: the high addresses wrap, and the bytes burned last stay. */
export const smallerChipCandidates = (c: ReadbackCase, before: Before, part: Part | null): Candidate[] => {
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
    const wrapped = suspicion(
      `The chip has only ${size}: higher addresses wrapped while it was burned, and the bytes burned last stayed.`,
    );
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
        const burned = burnedLast(c, before, { cell: a, mask: block - page, sent: c.defined }, burning);
        return burned ?? unreached(c, before, a);
      },
    );
  });
