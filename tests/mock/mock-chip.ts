// The mock writer's chip: cells with page mode, write cycle, protection and faults. What is truly stored stays readable beside what a reader is shown.
import type { ByteLoad } from '../../src/chip/byte-load.js';
import { type Random, seededRandom } from '../../src/ground/random.js';

export type MockFault =
  /** No chip drives the bus. */
  | { readonly kind: 'absent' }
  /** A write cycle never ends. */
  | { readonly kind: 'never-ready' }
  /** Writes into the page with this address look like any other and store nothing. */
  | { readonly kind: 'dead-page'; readonly address: number }
  /** This bit has one level at every reading. */
  | { readonly kind: 'weak-cell'; readonly address: number; readonly bit: number; readonly level: 0 | 1 }
  /** This bit reads now so, now so. */
  | { readonly kind: 'unsteady-cell'; readonly address: number; readonly bit: number };

export interface MockChipOptions {
  /** True size, a power of two; addresses above it wrap. */
  readonly cells: number;
  /** Bytes of one write cycle; 1 is a chip that is written cell by cell. */
  readonly page: number;
  /** How long a write cycle really takes, microseconds. */
  readonly cycleUs: number;
  /** Has software data protection. */
  readonly codes?: boolean;
  readonly protected?: boolean;
  /** A byte for every cell, or the bytes themselves; FF where nothing is said. */
  readonly contents?: number | Uint8Array;
  readonly faults?: readonly MockFault[];
  readonly seed?: number;
}

/** The addresses of the protection codes, on parts of 32 KiB and up; smaller ones see fewer lines. */
const codeAddresses = [0x5555, 0x2aaa] as const;
/** The codes alternate between the two addresses. */
export const codeLoads = (...bytes: number[]): ByteLoad[] =>
  bytes.map((byte, place) => ({ address: codeAddresses[(place % 3) % 2]!, byte }));
export const protectCodes = codeLoads(0xaa, 0x55, 0xa0);
export const unprotectCodes = codeLoads(0xaa, 0x55, 0x80, 0xaa, 0x55, 0x20);

export class MockChip {
  /** What is truly stored. */
  readonly cells: Uint8Array;
  /** Write cycles that each cell went through. */
  readonly wear: Uint32Array;
  readonly page: number;
  readonly codes: boolean;
  cycleUs: number;
  protected: boolean;
  faults: readonly MockFault[];
  /** Write cycles begun, refused ones included. */
  cycleCount = 0;
  private readyAtMs = 0;
  private lastLoaded = 0;
  private lastWritten: readonly number[] = [];
  private toggle = 0;
  private readonly random: Random;

  constructor(options: MockChipOptions) {
    this.cells = new Uint8Array(options.cells).fill(0xff);
    if (typeof options.contents === 'number') this.cells.fill(options.contents);
    else if (options.contents) this.cells.set(options.contents);
    this.wear = new Uint32Array(options.cells);
    this.page = options.page;
    this.cycleUs = options.cycleUs;
    this.codes = options.codes ?? false;
    this.protected = options.protected ?? false;
    this.faults = options.faults ?? [];
    this.random = seededRandom(options.seed ?? 1);
  }

  get absent(): boolean {
    return this.faults.some((fault) => fault.kind === 'absent');
  }

  busy(nowMs: number): boolean {
    return nowMs < this.readyAtMs;
  }

  /** When the write cycle in progress ends; in the past when there is none, Infinity when it never ends. */
  get readyMs(): number {
    return this.readyAtMs;
  }

  /** What the outputs show. During a write cycle: bit 7 inverted, bit 6 toggling. */
  read(address: number, nowMs: number): number {
    if (this.busy(nowMs)) {
      this.toggle ^= 0x40;
      return (~this.lastLoaded & 0x80) | this.toggle;
    }
    const cell = address & (this.cells.length - 1);
    return this.faults.reduce((byte, fault) => {
      if (fault.kind === 'weak-cell' && fault.address === cell) {
        return fault.level ? byte | (1 << fault.bit) : byte & ~(1 << fault.bit);
      }
      if (fault.kind === 'unsteady-cell' && fault.address === cell) return byte ^ (this.random.below(2) << fault.bit);
      return byte;
    }, this.cells[cell]!);
  }

  /** One write cycle with these byte loads. A busy or absent chip takes nothing. */
  write(loads: readonly ByteLoad[], nowMs: number): void {
    if (this.busy(nowMs) || this.absent || loads.length === 0) return;
    this.cycleCount++;
    this.lastLoaded = loads.at(-1)!.byte;
    const neverReady = this.faults.some((fault) => fault.kind === 'never-ready');
    this.readyAtMs = neverReady ? Infinity : nowMs + this.cycleUs / 1000;
    const bytes = this.withoutCodes(loads);
    this.lastWritten = [];
    if (bytes === null) return;
    // A page is what one cycle can take: loads beyond it wrap inside the page of the first.
    const pageStart = (bytes[0]?.address ?? 0) & (this.cells.length - 1) & -this.page;
    const taken = this.page === 1 ? bytes.slice(0, 1) : bytes;
    const dead = this.faults.some((fault) => fault.kind === 'dead-page' && (fault.address & -this.page) === pageStart);
    const written = new Set<number>();
    for (const { address, byte } of taken) {
      const cell = pageStart | (address & (this.page - 1));
      if (!dead) this.cells[cell] = byte;
      written.add(cell);
    }
    this.lastWritten = [...written];
    for (const cell of written) this.wear[cell]!++;
  }

  /** The supply fails in the middle of the write cycle: its cells hold anything. */
  tear(random: Random): void {
    for (const cell of this.lastWritten) this.cells[cell] = random.below(256);
    this.readyAtMs = 0;
  }

  /** The loads to store, null where protection keeps them out. Codes switch protection on the way. */
  private withoutCodes(loads: readonly ByteLoad[]): readonly ByteLoad[] | null {
    if (!this.codes) return loads;
    if (this.startsWith(loads, unprotectCodes)) {
      this.protected = false;
      return loads.slice(unprotectCodes.length);
    }
    if (this.startsWith(loads, protectCodes)) {
      this.protected = true;
      return loads.slice(protectCodes.length);
    }
    return this.protected ? null : loads;
  }

  private startsWith(loads: readonly ByteLoad[], codes: readonly ByteLoad[]): boolean {
    const mask = this.cells.length - 1;
    return codes.every((code, place) => {
      const load = loads[place];
      return load !== undefined && load.byte === code.byte && ((load.address ^ code.address) & mask) === 0;
    });
  }
}
