// The cells of a chip as they truly are: contents, wear, and the ones that no longer take what they are given.
import { seededRandom } from '../ground/random.js';
import type { ChipFault } from './chip-fault.js';

export class ChipCells {
  readonly #weak: ReadonlySet<number>;
  readonly #deadPages: ReadonlySet<number>;

  constructor(
    /** Contents, one byte a cell; written in place. */
    readonly bytes: Uint8Array,
    /** Write cycles that each cell has seen; counted in place. */
    readonly wear: Uint32Array,
    readonly pageBytes: number,
    private readonly endurance: number,
    private readonly seed: number,
    faults: readonly ChipFault[],
  ) {
    this.#weak = new Set(faults.flatMap((f) => (f.kind === 'weak' ? [f.address] : [])));
    this.#deadPages = new Set(faults.flatMap((f) => (f.kind === 'dead' ? [Math.floor(f.address / pageBytes)] : [])));
  }

  /** One cell at the end of its write cycle. */
  write(address: number, byte: number): void {
    if (this.#deadPages.has(Math.floor(address / this.pageBytes))) return;
    this.wear[address]! += 1;
    const worn = this.#weak.has(address) || this.wear[address]! > this.endurance;
    this.bytes[address] = worn ? this.#weakened(address, byte) : byte;
  }

  /** One bit of a weak cell keeps its own level, the same at every write: the seed says which bit and level. */
  #weakened(address: number, byte: number): number {
    const random = seededRandom(this.seed ^ Math.imul(address + 1, 0x9e3779b1));
    const bit = 1 << random.below(8);
    return random.chance(0.5) ? byte | bit : byte & ~bit;
  }
}
