// The rig's moves: what is done with the writer to learn about its own wiring. The judgement is made elsewhere.
import type { Part } from '../chip/part.js';
import { ToolError } from '../ground/errors.js';
import type { WriteBlock, Writer } from '../writer/writer.js';

/** One step of a bus test: a byte written to a cell, or a cell read. */
export type RigStep =
  | { readonly kind: 'write'; readonly address: number; readonly byte: number }
  | { readonly kind: 'read'; readonly address: number };

/** All control lines inactive (`hold`, field control). */
const parked = 7;

/** The mask of data lines that followed the charge; all eight where nothing drives the bus. */
async function followedCharge(writer: Writer): Promise<number> {
  try {
    return await writer.presence(0);
  } catch (error) {
    if (ToolError.is(error, 'writer.not-driven')) return 0xff;
    throw error;
  }
}

export interface EmptySocket {
  readonly registers: number;
  readonly noChip: { readonly pulled: number; readonly followed: number };
}

/** With nothing in the socket: registers counted, data lines pulled up and read, charged and read. */
export async function tryEmptySocket(writer: Writer): Promise<EmptySocket> {
  const registers = await writer.registers();
  const pulled = await writer.hold(0, parked, 'pulled');
  await writer.park();
  return { registers, noChip: { pulled, followed: await followedCharge(writer) } };
}

/** What `--scratch` does beyond the two bus tests, in the shapes of the judgement. */
export interface ScratchTests {
  readonly dataBus: readonly RigStep[];
  readonly addressBus: readonly RigStep[];
  /** What to write over a page so that every cell changes. */
  witness(before: Uint8Array): Uint8Array;
}

export interface Scratched {
  readonly registers: number;
  readonly followed: number;
  readonly dataBus: readonly number[];
  readonly addressBus: readonly number[];
  readonly pageWitness?: {
    readonly address: number;
    readonly wanted: Uint8Array;
    readonly before: Uint8Array;
    readonly actual: Uint8Array;
  };
  readonly protection?: { readonly refusedWhenOn: boolean; readonly tookWhenOff: boolean };
  /** The chip reads as it did before. */
  readonly putBack: boolean;
  /** No write changed anything: the chip refuses them, and the tests say nothing about wires. */
  readonly refusesWrites: boolean;
}

/** Writes whatever the outcome: on a faulty rig the comparison after a write may well fail, and the reads tell how. */
const load = (writer: Writer, block: WriteBlock): Promise<unknown> => writer.writeBlocks([block]);

const cell = async (writer: Writer, address: number): Promise<number> => (await writer.read(address, 1))[0]!;

/** Performs the steps in order; returns the bytes of all reads. */
async function perform(writer: Writer, steps: readonly RigStep[]): Promise<number[]> {
  const seen: number[] = [];
  for (const step of steps) {
    if (step.kind === 'write') await load(writer, { address: step.address, bytes: Uint8Array.of(step.byte) });
    else seen.push(await cell(writer, step.address));
  }
  return seen;
}

/** A page whose address has ones and zeros next to each other, so that a line that reaches into its number shows. */
const witnessAddress = (part: Part): number => {
  const alternating = 0xaaaaaa & (part.cells - 1);
  return alternating - (alternating % part.pageBytes.value);
};

async function witnessPage(
  writer: Writer,
  part: Part,
  tests: ScratchTests,
): Promise<NonNullable<Scratched['pageWitness']>> {
  const address = witnessAddress(part);
  const before = await writer.read(address, part.pageBytes.value);
  const wanted = tests.witness(before);
  await load(writer, { address, bytes: wanted });
  return { address, wanted, before, actual: await writer.read(address, part.pageBytes.value) };
}

/** Only in order do odd and even address lines and the data bits let the codes through. Leaves protection off where it can. */
async function witnessProtection(writer: Writer, before: Uint8Array): Promise<NonNullable<Scratched['protection']>> {
  const address = 1;
  const old = before[address]!;
  const other = ~old & 0xff;
  await writer.protect();
  await load(writer, { address, bytes: Uint8Array.of(other) });
  const refusedWhenOn = (await cell(writer, address)) === old;
  await writer.unprotect();
  const now = await cell(writer, address);
  const next = ~now & 0xff;
  await load(writer, { address, bytes: Uint8Array.of(next) });
  return { refusedWhenOn, tookWhenOff: (await cell(writer, address)) === next };
}

/** Cells of one write line while the chip is put back. */
const putBackCells = 16;

/** Writes whatever does not read as before; up to three times, because a faulty line can spoil one cell while another is mended. */
async function putBack(writer: Writer, part: Part, before: Uint8Array): Promise<boolean> {
  for (let round = 0; round < 3; round += 1) {
    const now = await writer.read(0, part.cells);
    const size = Math.max(putBackCells, part.pageBytes.value);
    const blocks: WriteBlock[] = [];
    for (let address = 0; address < part.cells; address += size) {
      const old = before.subarray(address, address + size);
      if (old.some((byte, i) => byte !== now[address + i])) blocks.push({ address, bytes: old.slice() });
    }
    if (blocks.length === 0) return true;
    await writer.writeBlocks(blocks);
  }
  const last = await writer.read(0, part.cells);
  return last.every((byte, i) => byte === before[i]);
}

/**
 * All tests with a chip whose cells may be written. `before` is everything the chip reads, which the caller has stored safely;
 * at the end the chip reads so again, or `putBack` is false.
 */
export async function tryScratchChip(
  writer: Writer,
  part: Part,
  before: Uint8Array,
  tests: ScratchTests,
): Promise<Scratched> {
  const registers = await writer.registers();
  const followed = await followedCharge(writer);
  let results: Pick<Scratched, 'dataBus' | 'addressBus' | 'pageWitness' | 'protection'> | null = null;
  let restored = false;
  try {
    const dataBus = await perform(writer, tests.dataBus);
    const addressBus = await perform(writer, tests.addressBus);
    const paged = part.pageBytes.value > 1 ? { pageWitness: await witnessPage(writer, part, tests) } : {};
    results = { dataBus, addressBus, ...paged };
  } finally {
    restored = await putBack(writer, part, before);
  }
  const refusesWrites = [...results.dataBus].every((byte) => byte === before[0]);
  if (part.protection.value && !refusesWrites) {
    // Last, with the chip as it was: a rig that cannot send the codes in order may leave protection on.
    results = { ...results, protection: await witnessProtection(writer, before) };
    restored = await putBack(writer, part, before);
  }
  return { registers, followed, ...results, putBack: restored, refusesWrites };
}
