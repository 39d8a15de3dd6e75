// Where an image says something and where it is silent, as runs of addresses.
import type { Image } from './image.js';
import type { Range } from './range.js';

/** Runs of cells whose flag equals `flag`, in order of address. */
function runsOf(defined: Uint8Array, flag: 0 | 1): Range[] {
  const runs: Range[] = [];
  let from = defined.indexOf(flag);
  while (from >= 0) {
    const end = defined.indexOf(1 - flag, from);
    const to = (end < 0 ? defined.length : end) - 1;
    runs.push({ from, to });
    from = end < 0 ? -1 : defined.indexOf(flag, end);
  }
  return runs;
}

/** Runs of defined cells. */
export const definedRuns = (image: Image): Range[] => runsOf(image.defined, 1);

/** Runs of undefined cells between the first and the last defined one: holes that a lost line of a file would leave. */
export function gapsOf(image: Image): Range[] {
  const first = image.defined.indexOf(1);
  const last = image.defined.lastIndexOf(1);
  return runsOf(image.defined, 0).filter((r) => r.from > first && r.to < last);
}

/** How many cells are defined. */
export function definedCount(image: Image): number {
  let count = 0;
  for (const flag of image.defined) count += flag;
  return count;
}
