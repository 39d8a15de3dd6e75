// Verify, blank check and dump: everything is read over the link, from a chip that is shown to be there.
import type { Part } from '../chip/part.js';
import { type Difference, differenceOf } from '../image/difference.js';
import { type Image, imageOfBytes, imageOfRuns } from '../image/image.js';
import type { Range } from '../image/range.js';
import type { Writer } from '../writer/writer.js';
import { blockSize, blocksOf, stretches } from './blocks.js';
import { type Reading, readRuns } from './read-runs.js';

export interface ReadOptions extends Reading {
  readonly range: Range;
}

export interface Verified {
  readonly same: boolean;
  readonly difference: Difference;
  /** What was read; cells that were not read are not defined. */
  readonly readback: Image;
}

/** Reads the stretches of a range in which the image defines anything. */
async function readWhatMatters(writer: Writer, part: Part, image: Image, options: ReadOptions): Promise<Image> {
  const size = blockSize(part);
  const starts = blocksOf(image, options.range, size).map((b) => b.address);
  return imageOfRuns('readback', part.cells, await readRuns(writer, stretches(starts, size), options));
}

/** Compares every defined byte of the image inside the range with what the chip reads now. */
export async function verify(writer: Writer, part: Part, image: Image, options: ReadOptions): Promise<Verified> {
  const readback = await readWhatMatters(writer, part, image, options);
  const difference = differenceOf(image, readback, options.range);
  return { same: difference.same, difference, readback };
}

/** Does every cell of the range read FF? An erased cell reads FF (Atmel application note 0544B-10/98). */
export const blankCheck = (writer: Writer, part: Part, options: ReadOptions): Promise<Verified> =>
  verify(writer, part, imageOfBytes('blank', new Uint8Array(part.cells).fill(0xff)), options);

export interface Dumped {
  /** The last reading; only the range is defined. */
  readonly image: Image;
  /** Cells that did not read the same every time, with all values seen. */
  readonly unsteady: readonly { readonly address: number; readonly seen: readonly number[] }[];
}

/** Reads a range `passes` times. */
export async function dump(
  writer: Writer,
  part: Part,
  options: ReadOptions & { readonly passes: number },
): Promise<Dumped> {
  const { from, to } = options.range;
  const count = to - from + 1;
  const readings = await readRuns(writer, new Array(options.passes).fill({ from, count }), options);
  const unsteady = [];
  for (let i = 0; i < count; i += 1) {
    const seen = new Set(readings.map((r) => r.bytes[i]!));
    if (seen.size > 1) unsteady.push({ address: from + i, seen: [...seen] });
  }
  return { image: imageOfRuns('dump', part.cells, readings), unsteady };
}
