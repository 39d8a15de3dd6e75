// The write cycles of a conformance run, whose blocks go past the host's own writer: counted from the blocks, and bounded before.
import { wholeChipCycles } from '../chip/chip-table.js';
import type { Part } from '../chip/part.js';

/** The page (the cell, where there is no page mode) of each cycle that a block may take; what lies beyond the chip takes none. */
export function cyclesOfBlock(part: Part, block: { readonly address: number; readonly count: number }): number[] {
  const page = part.pageBytes.value;
  const [first, last] = [block.address, block.address + block.count - 1].map((cell) => Math.floor(cell / page));
  const pages = Array.from({ length: last! - first! + 1 }, (_, i) => first! + i);
  return pages.filter((number) => number < wholeChipCycles(part));
}

/** The rules write these cells from 0 alone, as often at most (measured: 98 blocks, most of which do not come to a cycle). */
const writtenCells = 0x100;
const writtenPages = 2;
const timesMost = 128;

/** What a run may cost at most. Every page is among them once: a writer that breaks rules can write anywhere. */
export function conformCyclesAtMost(part: Part): number[] {
  const page = part.pageBytes.value;
  const often = Math.min(wholeChipCycles(part), Math.max(Math.ceil(writtenCells / page), writtenPages));
  const oftenWritten = Array.from({ length: often * timesMost }, (_, i) => i % often);
  const once = Array.from({ length: wholeChipCycles(part) - often }, (_, i) => often + i);
  return [...oftenWritten, ...once];
}
