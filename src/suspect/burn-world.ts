// A burn as it may have gone, played forward: which wires it went through, how the writer burns, what the chip takes of a block.
import { byteTable, type MapStep, steps } from './line-map.js';
import { type Prediction, predictionBy, type ReadbackCase } from './readback-case.js';

/** What the cells held before: their bytes, FF in all of them, or nobody knows. */
export type Before = Uint8Array | 'erased' | 'unknown';

/** The wires at one time: what an address becomes on its way to the chip, and a byte on its way either way. */
export interface Wires {
  readonly address: readonly MapStep[];
  readonly table: Uint8Array;
}

export interface BurnWorld {
  readonly before: Before;
  readonly burning: Wires;
  readonly reading: Wires;
  /** Lines in which an address may differ from the cell that it reaches. */
  readonly mask: number;
  /** Cells that the writer sends in one go, and that the chip takes in one; a chip takes the page named first or last. */
  readonly block: number;
  readonly page: number;
  readonly kept: 'first' | 'last';
  /** What is said of the cells before was read through the wires of the burn, and says nothing of cells that these do not reach. */
  readonly isSeenThrough: boolean;
  /** A careful writer leaves alone what reads right, and without page mode stops a block at a cell that does not take. */
  readonly isCareful: boolean;
  /** Addresses that tell all: above, the chip reads again what it reads below. */
  readonly addresses: number;
}

export const heldAt = (c: ReadbackCase, before: Before, cell: number): number => {
  if (before === 'unknown') return -1;
  if (before !== 'erased') return before[cell] ?? 0xff;
  return c.defined[cell] === 1 ? 0xff : -1;
};

const soundTable = byteTable([]);

const notYet = -2;

/** What a cell of this world held; -1 where nobody knows. */
const heldIn = (c: ReadbackCase, { before, burning, isSeenThrough }: BurnWorld, cell: number): number => {
  const held = heldAt(c, before, cell);
  if (!isSeenThrough || held === -1) return held;
  const isTrue = burning.table === soundTable && steps(burning.address, cell) === cell;
  return isTrue ? held : -1;
};

/** What a burn sends of each block: the stretch from the first to the last cell that is not right yet, or all that is defined. */
export class SendPlan {
  readonly #first: Int32Array;
  readonly #last: Int32Array;

  constructor(
    private readonly c: ReadbackCase,
    private readonly world: Pick<BurnWorld, 'before' | 'burning' | 'block' | 'page' | 'isCareful'>,
  ) {
    const blocks = Math.ceil(c.cells / world.block);
    this.#first = new Int32Array(blocks).fill(notYet);
    this.#last = new Int32Array(blocks);
  }

  firstOf(block: number): number {
    if (this.#first[block] === notYet) this.#plan(block);
    return this.#first[block]!;
  }

  lastOf(block: number): number {
    if (this.#first[block] === notYet) this.#plan(block);
    return this.#last[block]!;
  }

  #isToSend(a: number): boolean {
    const { before, burning, isCareful } = this.world;
    if (this.c.defined[a] !== 1) return false;
    if (!isCareful || before === 'unknown') return true;
    const held = before === 'erased' ? 0xff : (before[steps(burning.address, a)] ?? 0xff);
    return this.c.wanted[a] !== burning.table[held];
  }

  /** Worked out when asked for, since most worlds fail at once. */
  #plan(block: number): void {
    const { world, c } = this;
    let first = block * world.block;
    let last = Math.min(first + world.block, c.cells) - 1;
    while (first <= last && !this.#isToSend(first)) first++;
    while (last > first && !this.#isToSend(last)) last--;
    if (world.isCareful && world.page === 1)
      // Cells behind one that does not take are not sent.
      for (let a = first; a < last; a++)
        if (c.defined[a] === 1 && world.burning.table[c.wanted[a]!] !== c.wanted[a]) last = a;
    this.#first[block] = first;
    this.#last[block] = last;
  }
}

/** One world at work. */
export class BurnPlay {
  readonly blocks: number;

  constructor(
    readonly c: ReadbackCase,
    readonly world: BurnWorld,
    readonly plan = new SendPlan(c, world),
  ) {
    this.blocks = Math.ceil(c.cells / world.block);
  }

  /** The cell that this address writes; -1 where it is not sent. */
  writes(a: number): number {
    const { world, c, plan } = this;
    const block = Math.floor(a / world.block);
    const first = plan.firstOf(block);
    const last = plan.lastOf(block);
    if (a < first || a > last) return -1;
    if (!world.isCareful && c.defined[a] !== 1) return -1;
    const cell = steps(world.burning.address, a);
    if (world.page === 1) return cell;
    const named = steps(world.burning.address, world.kept === 'last' ? last : first);
    return (named & ~(world.page - 1)) | (cell & (world.page - 1));
  }

  /** The byte that is sent; -1 where a page is loaded with what it held, which is not known. */
  sentByte(a: number): number {
    if (this.c.defined[a] === 1) return this.c.wanted[a]!;
    const { before } = this.world;
    return typeof before === 'string' ? -1 : (before[a] ?? 0xff);
  }

  /** The byte that an address reads after so many blocks; -1 where it is not known. */
  readAfter(a: number, blocks: number): number {
    const { world, c } = this;
    const cell = steps(world.reading.address, a);
    const { mask, burning, reading } = world;
    let byte = heldIn(c, world, cell);
    // All settings of the lines in the mask, the last one first, by the usual trick of counting down inside it.
    for (let setting = mask, more = true; more; more = setting !== 0, setting = (setting - 1) & mask) {
      const from = (cell & ~mask) | setting;
      if (from < blocks * world.block && this.writes(from) === cell) {
        const sent = this.sentByte(from);
        byte = sent === -1 ? -1 : burning.table[sent]!;
        break;
      }
    }
    return byte === -1 ? -1 : reading.table[byte]!;
  }

  /**
   * Notes in `wrong` whether an address reads otherwise, as differences from one number of blocks to the next. False where it
   * does after each of `least` to `most` blocks.
   */
  #note(wrong: Int32Array, a: number, least: number, most: number): boolean {
    const { world, c } = this;
    const { mask, burning, reading } = world;
    const cell = steps(reading.address, a);
    const actual = c.actual[a]!;
    let byte = heldIn(c, world, cell);
    let since = 0;
    let mayBeRight = false;
    for (let setting = 0, more = true; more; setting = (setting - mask) & mask, more = setting !== 0) {
      const from = (cell & ~mask) | setting;
      if (this.writes(from) !== cell) continue;
      const until = Math.floor(from / world.block) + 1;
      if (byte !== -1 && reading.table[byte] !== actual) {
        wrong[since]!++;
        wrong[until]!--;
      } else if (until > least && since <= most && until > since) mayBeRight = true;
      const sent = this.sentByte(from);
      byte = sent === -1 ? -1 : burning.table[sent]!;
      since = until;
    }
    if (byte !== -1 && reading.table[byte] !== actual) wrong[since]!++;
    else if (since <= most) mayBeRight = true;
    return mayBeRight;
  }

  /**
   * After how many blocks, at least `least`, the burn leaves what was read: all of them, else the fewest; null where it never
   * does. Each address says at once for all places at which the burn may have stopped whether it reads right.
   */
  fittingEnd(least = 1): number | null {
    const { c, world, blocks } = this;
    const within = world.addresses - 1;
    let wrong = new Int32Array(blocks + 2);
    for (let i = 0; i < c.probes.length; i++) if (!this.#note(wrong, c.probes[i]! & within, least, blocks)) return null;
    const [from, to] = rightIn(wrong, least, blocks);
    if (from > to) return null;
    wrong = new Int32Array(blocks + 2);
    for (let a = 0; a < world.addresses; a++) if (!this.#note(wrong, a, from, to)) return null;
    const [fewest, most] = rightIn(wrong, from, to);
    if (fewest > most) return null;
    // Over unknown bytes a burn that stopped at once contradicts nothing; the longest tells most.
    return most === blocks || world.before === 'unknown' ? most : fewest;
  }

  predictionAfter(blocks: number): Prediction {
    return predictionBy(this.c, (a) => this.readAfter(a, blocks));
  }
}

/** The first and the last number of blocks within these after which nothing is wrong. */
const rightIn = (wrong: Int32Array, least: number, most: number): [number, number] => {
  let [first, last, count] = [most + 1, least - 1, 0];
  for (let end = 0; end <= most; end++) {
    count += wrong[end]!;
    if (count > 0 || end < least) continue;
    first = Math.min(first, end);
    last = end;
  }
  return [first, last];
};
