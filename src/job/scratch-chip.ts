// The rig's moves with a scratch chip: bus tests, a page and the codes as witnesses; then the chip is put back as it read.
import { wholeChipCycles } from '../chip/chip-table.js';
import type { Part } from '../chip/part.js';
import { ToolError } from '../ground/errors.js';
import { joinRanges, type Range } from '../image/range.js';
import { chipChoice } from '../writer/chip-choice.js';
import type { BlockOutcome, WriteBlock, Writer } from '../writer/writer.js';
import { BrokenOff } from './broken-off.js';
import { comesReady, isBusy, slowChip } from './presence.js';

/** One step of a bus test: a byte written to a cell, or a cell read. */
export type RigStep =
  | { readonly kind: 'write'; readonly address: number; readonly byte: number }
  /** `expected`: what sound wiring reads; null where it is not judged. */
  | { readonly kind: 'read'; readonly address: number; readonly expected: number | null };

/** What is done beyond reading, in the shapes of the judgement. */
export interface ScratchTests {
  readonly dataBus: readonly RigStep[];
  readonly addressBus: readonly RigStep[];
  /** What to write over a page so that every cell changes. */
  witness(before: Uint8Array): Uint8Array;
  /** The cells to which the protection codes go; a chip that does not take them as codes stores them. */
  readonly codeCells: readonly number[];
}

export interface ScratchReadings {
  readonly dataBus?: readonly number[];
  readonly addressBus?: readonly number[];
  /** Only where the bus tests read as on sound wiring: on another, a page can go to cells that no address of this writer reaches. */
  readonly pageWitness?: {
    readonly address: number;
    readonly wanted: Uint8Array;
    readonly before: Uint8Array;
    readonly actual: Uint8Array;
  };
  /** Likewise. */
  readonly protection?: { readonly refusedWhenOn: boolean; readonly tookWhenOff: boolean };
}

export interface Scratched {
  readonly readings: ScratchReadings;
  /** No write changed anything: the chip refuses them, and nothing is said about wires. */
  readonly refusesWrites: boolean;
  /** Cells that do not read as before. */
  readonly changed: readonly Range[];
  /** The page (the cell, where there is no page mode) of each write cycle, one after the other. */
  readonly cycles: readonly number[];
}

export interface ScratchOptions {
  /** Ends the tests between two writes; the chip is put back all the same. */
  readonly signal?: AbortSignal;
  /** Cells read so far, at each of several readings of the whole chip. */
  readonly onRead?: (done: number) => void;
}

/** The check ended before its end: why, and what is known of the chip. `changed` is null where nobody could look any more. */
export class ScratchBrokenOff extends BrokenOff {
  constructor(
    reason: unknown,
    readonly changed: readonly Range[] | null,
    readonly cycles: readonly number[],
    /** The codes that protect the chip were sent, and nobody could switch protection off again. */
    readonly maybeProtected: boolean,
  ) {
    super(reason, cycles, changed?.length === 0);
  }
}

/** A page whose address has ones and zeros next to each other, so that a line that reaches into its number shows. */
const witnessAddress = (part: Part): number => {
  const alternating = 0xaaaaaa & (part.cells - 1);
  return alternating - (alternating % part.pageBytes.value);
};

/** The cell that is written to see whether the chip is protected. */
const protectionCell = 1;

/** Cells of one write line where there is no page mode. */
const cellsOfBlock = 16;
/** A faulty line can spoil one cell while another is mended. */
const putBackRounds = 3;
const readsThatAgree = 8;

/**
 * The page (the cell) of each write cycle that a check on sound wiring may take at most, also one that is stopped and puts
 * back cell by cell. Every page is among them once: on faulty wiring a write can go anywhere.
 */
export function cyclesAtMost(part: Part, tests: ScratchTests): number[] {
  const page = part.pageBytes.value;
  const busTests = [...tests.dataBus, ...tests.addressBus].flatMap((s) => (s.kind === 'write' ? [s.address] : []));
  const witness = page > 1 ? [witnessAddress(part)] : [];
  const protection = part.protection.value ? [...tests.codeCells, protectionCell, protectionCell] : [];
  const written = [...busTests, ...witness, ...protection];
  const cycles = [...written, ...new Set(written)].map((cell) => Math.floor(cell / page));
  const among = new Set(cycles);
  const others = Array.from({ length: wholeChipCycles(part) }, (_, i) => i).filter((i) => !among.has(i));
  return [...cycles, ...others];
}

class ScratchChip {
  readonly cycles: number[] = [];
  readonly #page: number;
  /** Cells as they read last; without page mode the writer leaves a cell alone that holds its byte already. */
  readonly #now: Uint8Array;
  /** The codes that protect were sent, and those that unprotect not yet. */
  maybeProtected = false;

  constructor(
    private readonly writer: Writer,
    private readonly part: Part,
    private readonly before: Uint8Array,
    private readonly options: ScratchOptions,
  ) {
    this.#page = part.pageBytes.value;
    this.#now = before.slice();
  }

  /**
   * Writes whatever the outcome: on a faulty rig the comparison after a write may well fail, and the reads tell how. Only a
   * chip that is at work still is written no further, and what it reads is no evidence: job.slow-chip, job.still-busy.
   */
  async load(address: number, bytes: Uint8Array): Promise<void> {
    if (this.#page > 1) this.cycles.push(Math.floor(address / this.#page));
    else bytes.forEach((byte, i) => void (byte !== this.#now[address + i] && this.cycles.push(address + i)));
    this.#now.set(bytes, address);
    const [outcome] = await this.writer.writeBlocks([{ address, bytes }]);
    if (outcome === undefined || outcome.kind === 'written') return;
    if ((await isBusy(this.writer)) || (await this.#tookLate(outcome, { address, bytes }))) await this.#tooSlow();
  }

  /**
   * The chip was at work when the writer looked at its cell, and it is done by now: the cell showed the complement of bit 7
   * (DATA polling) or something else each time, and now it reads what it was sent.
   */
  async #tookLate(outcome: BlockOutcome, block: WriteBlock): Promise<boolean> {
    if (outcome.kind === 'never-ready')
      return this.#reads(outcome.address, block.bytes[outcome.address - block.address]);
    if (outcome.kind !== 'mismatch' || ((outcome.wanted ^ outcome.actual) & 0x80) === 0) return false;
    return this.#reads(outcome.address, outcome.wanted);
  }

  /** Often enough that it is not the chance of an unsteady bit. */
  async #reads(address: number, wanted: number | undefined): Promise<boolean> {
    for (let left = readsThatAgree; left > 0; left -= 1) if ((await this.cell(address)) !== wanted) return false;
    return true;
  }

  /** Throws job.slow-chip where the chip comes ready after all, else job.still-busy. */
  async #tooSlow(): Promise<never> {
    if (!(await comesReady(this.writer))) throw new ToolError('job.still-busy', {});
    throw slowChip(this.part);
  }

  /** Codes that start a write cycle. */
  async #sendCodes(send: () => Promise<void>): Promise<void> {
    try {
      await send();
    } catch (error) {
      if (!ToolError.is(error, 'writer.never-ready')) throw error;
      await this.#tooSlow();
    }
  }

  async cell(address: number): Promise<number> {
    return (await this.writer.read(address, 1))[0]!;
  }

  /** Performs the steps in order; returns the bytes of all reads. */
  async perform(steps: readonly RigStep[]): Promise<number[]> {
    const seen: number[] = [];
    for (const step of steps) {
      if (this.options.signal?.aborted) throw new ToolError('writer.stopped', {});
      if (step.kind === 'write') await this.load(step.address, Uint8Array.of(step.byte));
      else seen.push(await this.cell(step.address));
    }
    return seen;
  }

  async witnessPage(tests: ScratchTests): Promise<NonNullable<ScratchReadings['pageWitness']>> {
    const address = witnessAddress(this.part);
    const before = await this.writer.read(address, this.#page);
    const wanted = tests.witness(before);
    await this.load(address, wanted);
    return { address, wanted, before, actual: await this.writer.read(address, this.#page) };
  }

  /** Only in order do odd and even address lines and the data bits let the codes through. Leaves protection off where it can. */
  async witnessProtection(tests: ScratchTests): Promise<NonNullable<ScratchReadings['protection']>> {
    const changes = async (): Promise<boolean> => {
      const old = await this.cell(protectionCell);
      await this.load(protectionCell, Uint8Array.of(~old & 0xff));
      return (await this.cell(protectionCell)) !== old;
    };
    this.maybeProtected = true;
    await this.#sendCodes(() => this.writer.protect());
    const refusedWhenOn = !(await changes());
    await this.#sendCodes(() => this.writer.unprotect());
    this.maybeProtected = false;
    const asData = refusedWhenOn ? [] : tests.codeCells.map((cell) => Math.floor(cell / this.#page));
    this.cycles.push(...new Set(asData));
    return { refusedWhenOn, tookWhenOff: await changes() };
  }

  /**
   * Writes what does not read as before. `inPages`: a page at a time, first; cell by cell where lines may be wrong, since
   * a cell is written and read through the same wires and so comes back, while a page may go to several.
   */
  async putBack(inPages: boolean): Promise<readonly Range[]> {
    const { writer, part, before } = this;
    const read = (): Promise<Uint8Array> => writer.read(0, part.cells, this.options.onRead);
    for (let round = 0; round < putBackRounds; round += 1) {
      const now = await read();
      this.#now.set(now);
      const size = this.#page === 1 ? cellsOfBlock : inPages && round === 0 ? this.#page : 1;
      const blocks = differing(before, now, size);
      if (blocks.length === 0) return [];
      for (const { address, bytes } of blocks) await this.load(address, bytes);
    }
    const last = await read();
    return joinRanges(differing(before, last, 1).map(({ address }) => ({ from: address, to: address })));
  }

  /** After the tests broke off. Null where nobody can: a chip that stays busy takes nothing, and shows nothing of its cells. */
  async putBackAfter(reason: unknown): Promise<readonly Range[] | null> {
    if (ToolError.is(reason, 'job.still-busy')) return null;
    if (ToolError.is(reason, 'job.slow-chip')) await this.writer.chip(chipChoice(this.part, { patient: true }));
    if (this.maybeProtected) await this.writer.unprotect();
    this.maybeProtected = false;
    return this.putBack(false);
  }
}

/** Of each `size` cells those from the first to the last that reads otherwise than before, with their bytes of before. */
function differing(before: Uint8Array, now: Uint8Array, size: number): WriteBlock[] {
  const blocks: WriteBlock[] = [];
  for (let start = 0; start < before.length; start += size) {
    let [from, to] = [-1, -1];
    for (let cell = start; cell < Math.min(start + size, before.length); cell += 1) {
      if (before[cell] === now[cell]) continue;
      if (from < 0) from = cell;
      to = cell;
    }
    if (from >= 0) blocks.push({ address: from, bytes: before.slice(from, to + 1) });
  }
  return blocks;
}

const readsAsExpected = (test: readonly RigStep[], seen: readonly number[]): boolean =>
  test.filter((step) => step.kind === 'read').every((step, i) => step.expected === null || step.expected === seen[i]);

/**
 * All tests with a chip whose cells may be written. `before` is everything the chip reads, which the caller has stored
 * safely; `trySeatedChip` has shown that every data line carries both levels. At the end the chip reads as before, or
 * `changed` says where not. Rejects with ScratchBrokenOff.
 */
export async function tryScratchChip(
  writer: Writer,
  part: Part,
  before: Uint8Array,
  tests: ScratchTests,
  options: ScratchOptions = {},
): Promise<Scratched> {
  const chip = new ScratchChip(writer, part, before, options);
  const restartsBefore = writer.counts.restarts;
  let readings: ScratchReadings = {};
  let inPages = false;
  let refusesWrites = false;
  try {
    const dataBus = await chip.perform(tests.dataBus);
    refusesWrites = dataBus.every((byte) => byte === before[0]);
    readings = { dataBus };
    if (!refusesWrites) {
      const addressBus = await chip.perform(tests.addressBus);
      readings = { dataBus, addressBus };
      const sound = readsAsExpected(tests.dataBus, dataBus) && readsAsExpected(tests.addressBus, addressBus);
      if (sound && part.pageBytes.value > 1) {
        const pageWitness = await chip.witnessPage(tests);
        inPages = pageWitness.wanted.every((byte, i) => byte === pageWitness.actual[i]);
        readings = { ...readings, pageWitness };
      }
      if (sound && part.protection.value) {
        // Last, with the chip as it was: a rig that cannot send the codes in order may leave protection on.
        await chip.putBack(inPages);
        readings = { ...readings, protection: await chip.witnessProtection(tests) };
      }
    }
    if (writer.counts.restarts > restartsBefore) throw new ToolError('job.restarted-in-check', {});
    return { readings, refusesWrites, changed: await chip.putBack(inPages), cycles: chip.cycles };
  } catch (reason) {
    const changed = await chip.putBackAfter(reason).catch(() => null);
    throw new ScratchBrokenOff(reason, changed, chip.cycles, chip.maybeProtected);
  }
}
