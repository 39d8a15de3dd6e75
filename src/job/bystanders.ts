// Bystanders: blocks that nobody asked to write and that a burn could hit all the same, because an address line makes no difference.
// A chip smaller than said repeats itself, and so does one that a line does not reach. Their sums are taken before and after.
import type { Part } from '../chip/part.js';
import { type Image, imageOfBytes } from '../image/image.js';
import type { Range } from '../image/range.js';
import type { WriteBlock, Writer } from '../writer/writer.js';
import { sumsOfBlocks } from './block-sums.js';
import { blockSize, blockStart, blocksOf, rangesOfBlocks } from './blocks.js';

export interface Beside extends Range {
  /** Address lines that tell these cells from ones that were asked for, and seem to make no difference; may be empty. */
  readonly lines: readonly number[];
}

export interface Bystanders {
  /**
   * The blocks whose bytes are others than before. To be asked when the writing is done. `neighbours`: what else changed,
   * in blocks that were read back.
   */
  changed(neighbours?: readonly Range[]): Promise<readonly Beside[]>;
}

export interface Watched {
  readonly range: Range;
  /** All blocks are watched, not only those that one line tells from a written one. */
  readonly all: boolean;
  readonly signal?: AbortSignal;
}

const rising = (numbers: Iterable<number>): number[] => [...numbers].sort((a, b) => a - b);

/** All sums of some of these numbers, the empty sum left out. */
const combinations = (bits: readonly number[]): number[] =>
  bits.reduce((sums, bit) => sums.concat(sums.map((s) => s | bit)), [0]).slice(1);

/** Takes the sums of the bystanders of these writes. To be called before the first write. */
export async function watchBystanders(
  writer: Writer,
  part: Part,
  image: Image,
  writes: readonly WriteBlock[],
  { range, all, signal }: Watched,
): Promise<Bystanders> {
  const size = blockSize(part);
  const bits: number[] = [];
  for (let bit = size; bit < part.cells; bit *= 2) bits.push(bit);
  const written = [...new Set(writes.map((w) => blockStart(w.address, size)))];
  // Blocks in which the image says something are read back and compared anyway.
  const asked = new Set(blocksOf(image, range, size).map((b) => b.address));
  const everywhere = (): number[] =>
    blocksOf(imageOfBytes('', new Uint8Array(part.cells)), { from: 0, to: part.cells - 1 }, size).map((b) => b.address);
  const near = all ? everywhere() : written.flatMap((address) => bits.map((bit) => address ^ bit));
  const watched = writes.length === 0 ? [] : [...new Set(near)].filter((address) => !asked.has(address));
  const before = await sumsOfBlocks(writer, rising(watched), size, signal);
  return {
    async changed(neighbours = []) {
      const after = await sumsOfBlocks(writer, rising(watched), size);
      const hit = new Set(watched.filter((address) => after.get(address) !== before.get(address)));
      const struck = new Set([...hit, ...neighbours.map((range) => blockStart(range.from, size))]);
      const dead = bits.filter((bit) => written.some((address) => struck.has(address ^ bit)));
      // Behind two such lines lie further repetitions, which hold what the written blocks hold.
      const further = written.flatMap((address) => combinations(dead).map((sum) => address ^ sum));
      const others = [...new Set(further)].filter((address) => !hit.has(address) && !asked.has(address));
      const now = await sumsOfBlocks(writer, rising([...others, ...written]), size);
      for (const address of others)
        if (written.some((w) => dead.some((bit) => (w ^ address) & bit) && now.get(w) === now.get(address)))
          hit.add(address);
      const lines = dead.map((bit) => Math.log2(bit));
      return rangesOfBlocks(rising(hit), size).map((range) => ({ ...range, lines }));
    },
  };
}
