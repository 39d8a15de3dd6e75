// The rig's moves: what is done with the writer to learn about its own wiring. The judgement is made elsewhere.
import { ToolError } from '../ground/errors.js';
import type { Writer } from '../writer/writer.js';
import { linesNotDriven } from './presence.js';

/** All control lines inactive (`hold`, field control): the chip's outputs are off. */
const parked = 7;
const allLines = 0xff;

/** What the data lines show without any write: nothing in the chip can change by this. */
export interface DataLines {
  /** Address registers counted through the chain return. */
  readonly registers: number;
  /** The data lines as read while the writer drives each of the bytes, the chip's outputs off. */
  readonly driven: readonly number[];
}

async function tryDataLines(writer: Writer, bytes: readonly number[]): Promise<DataLines> {
  const registers = await writer.registers();
  const driven: number[] = [];
  for (const byte of bytes) driven.push(await writer.hold(0, parked, byte));
  return { registers, driven };
}

/** The mask of data lines that followed the charge; all eight where nothing drives the bus. */
async function followedCharge(writer: Writer): Promise<number> {
  try {
    return await writer.presence(0);
  } catch (error) {
    if (ToolError.is(error, 'writer.not-driven')) return allLines;
    throw error;
  }
}

export interface EmptySocket extends DataLines {
  readonly noChip: { readonly pulled: number; readonly followed: number };
}

const countOfLines = (mask: number): number => [...mask.toString(2)].filter((digit) => digit === '1').length;
/** A stuck line is driven, and so may be two; more than this is a chip. */
const drivenMost = 3;

/**
 * With nothing in the socket: registers counted, data lines driven, pulled up, and charged, and read each time.
 * Rejects with job.socket-not-empty.
 */
export async function tryEmptySocket(writer: Writer, bytes: readonly number[]): Promise<EmptySocket> {
  const lines = await tryDataLines(writer, bytes);
  const pulled = await writer.hold(0, parked, 'pulled');
  await writer.park();
  const followed = await followedCharge(writer);
  if (countOfLines(allLines & ~followed) > drivenMost) throw new ToolError('job.socket-not-empty', {});
  return { ...lines, noChip: { pulled, followed } };
}

export interface SeatedChip extends DataLines {
  /** The mask of data lines that followed the charge, so that no chip drives them. */
  readonly followed: number;
  /**
   * Every data line carries both levels both ways, so that what is read of a cell is what it holds, and can be put back.
   * Where one does not, nothing may be written: the bit that it hides would be lost.
   */
  readonly carriesAll: boolean;
}

/** With a chip in the socket, which is not written. Rejects with writer.not-driven or job.still-busy. */
export async function trySeatedChip(writer: Writer, bytes: readonly number[]): Promise<SeatedChip> {
  const followed = await linesNotDriven(writer);
  const lines = await tryDataLines(writer, bytes);
  await writer.park();
  const first = lines.driven[0] ?? 0;
  const changed = lines.driven.reduce((mask, byte) => mask | (byte ^ first), 0);
  // A stuck line follows nothing: an empty socket is one all the same.
  if ((followed | (allLines & ~changed)) === allLines) throw new ToolError('writer.not-driven', { address: '0x0000' });
  return { ...lines, followed, carriesAll: followed === 0 && lines.driven.every((byte, i) => byte === bytes[i]) };
}
