// Chips that are not what the burn took them for: fewer cells, or smaller pages.
import type { Part } from '../chip/part.js';
import { blockOfPage } from '../chip/write-line.js';
import { blindBlock, exactly, firstFitting, pageSizes, soundWires } from './burn-search.js';
import type { Before, Wires } from './burn-world.js';
import type { Candidate } from './candidate.js';
import type { ReadbackCase } from './readback-case.js';

/** A chip with fewer cells than the image: the high addresses wrap, and the bytes burned last stay. */
export const smallerChipCandidates = (c: ReadbackCase, before: Before, part: Part | null): Candidate[] => {
  for (let lines = c.addressLines - 1; lines >= 7; lines--) {
    const cells = 2 ** lines;
    if (c.actual.some((byte, a) => byte !== c.actual[a & (cells - 1)])) continue;
    const mask = c.cells - cells;
    const wrapped: Wires = { address: [{ kind: 'tie', p: mask, q: 0 }], table: soundWires.table };
    const world = {
      before,
      burning: wrapped,
      reading: wrapped,
      mask,
      addresses: cells,
      kept: 'last',
      isSeenThrough: false,
    } as const;
    // All that the image defines may have been sent, or only what was not right yet.
    const worlds = [
      { ...world, page: 1, block: blindBlock, isCareful: false },
      ...pageSizes(part).map((page) => ({ ...world, page, block: blockOfPage(page), isCareful: true })),
    ];
    const suspicion = (holds: 'last' | 'first') =>
      ({ kind: 'smaller-chip', cause: { is: 'smaller-chip', cells, holds } }) as const;
    const played = firstFitting(c, worlds, false);
    const found = [
      ...(played === null ? [] : exactly(c, suspicion('last'), played.play.predictionAfter(played.blocks))),
      ...exactly(
        c,
        suspicion('first'),
        Int16Array.from(c.actual, (_, a) => (c.defined[a & (cells - 1)] === 1 ? c.wanted[a & (cells - 1)]! : -1)),
      ),
    ];
    if (found.length > 0) return found;
  }
  return [];
};

/** Blocks larger than the part's page wrap inside the page: of every block one page is written, with the bytes loaded last. */
export const pageTooLargeCandidates = (c: ReadbackCase, before: Before, part: Part | null): Candidate[] => {
  // A part that is written cell by cell is sent no blocks, and blocks of one have no smaller page.
  const blocks = (part === null ? [32, 64, 128, 256] : [part.pageBytes.value]).filter((block) => block <= c.cells);
  const world = {
    before,
    burning: soundWires,
    reading: soundWires,
    addresses: c.cells,
    isCareful: false,
    isSeenThrough: false,
  } as const;
  return blocks.flatMap((block) =>
    [16, 32, 64, 128]
      .filter((page) => page < block)
      .flatMap((page) =>
        (['last', 'first'] as const).flatMap((kept) => {
          const played = firstFitting(c, [{ ...world, mask: block - page, block, page, kept }], false);
          if (played === null) return [];
          const cause = { is: 'page-too-large', block, page, kept } as const;
          return exactly(c, { kind: 'page-too-large', cause }, played.play.predictionAfter(played.blocks));
        }),
      ),
  );
};
