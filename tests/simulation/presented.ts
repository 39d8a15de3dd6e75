// The judge's own account of a chip behind wrong wires, written apart from the tool, the mock and the emulator: what a
// writer with these wires must find at each of its addresses, worked out line by line.
import type { WiringFault } from './trouble.js';

/** One way in which the chip may look to the writer. */
export interface View {
  /** The chip's own cell behind each of the writer's addresses. */
  readonly cellAt: Uint32Array;
  /** What a byte of the chip looks like at the writer. */
  readonly shown: Uint8Array;
  /** The data bits that the chip decides; the others are nobody's. */
  readonly known: number;
}

/** What one line carries at its far end: as many answers as there are levels that nobody knows. */
type Carried = (level: (line: number) => 0 | 1) => 0 | 1 | null;

function carriedBy(letter: 'A' | 'D', line: number, faults: readonly WiringFault[]): Carried {
  const name = `${letter}${line}` as const;
  for (const fault of faults) {
    if ('line' in fault) {
      if (fault.line !== name) continue;
      if (fault.kind === 'open') return () => null;
      if (fault.kind === 'stuck') return () => fault.level;
      return (level) => (level(line) === 1 ? 0 : 1);
    }
    if (!fault.lines.includes(name)) continue;
    const [one, two] = fault.lines.map((l) => Number(l.slice(1))) as [number, number];
    if (fault.kind === 'crossed') return (level) => level(line === one ? two : one);
    return (level) => {
      const both = level(one) + level(two);
      return (fault.wins === 'low' ? both === 2 : both > 0) ? 1 : 0;
    };
  }
  return (level) => level(line);
}

/** `value` after all lines; an unknown level reads as `unknown` has it for its line. */
const through = (lines: readonly Carried[], value: number, unknown: number): number =>
  lines.reduce((sum, carried, line) => {
    const level = carried((l) => ((value >> l) & 1) as 0 | 1) ?? (unknown >> line) & 1;
    return sum | (level << line);
  }, 0);

/** Every way in which the levels of these lines may stand, as patterns. */
const levelsOf = (lines: readonly number[]): number[] =>
  Array.from({ length: 1 << lines.length }, (_, way) =>
    lines.reduce((pattern, line, bit) => pattern | (((way >> bit) & 1) << line), 0),
  );

/**
 * All ways in which a chip of `chipCells` may look to a writer that addresses `cells`: one, and twice as many for each
 * address line that is open, since its own level is anybody's guess. No two faults share a line.
 */
export function viewsOf(cells: number, chipCells: number, faults: readonly WiringFault[]): View[] {
  const addressLines = Math.log2(cells);
  const address = Array.from({ length: addressLines }, (_, line) => carriedBy('A', line, faults));
  const data = Array.from({ length: 8 }, (_, line) => carriedBy('D', line, faults));
  const known = data.reduce((mask, carried, line) => (carried(() => 0) === null ? mask : mask | (1 << line)), 0);
  const shown = Uint8Array.from({ length: 256 }, (_, byte) => through(data, byte, 0) & known);
  const open = address.flatMap((carried, line) => (carried(() => 0) === null ? [line] : []));
  return levelsOf(open).map((unknown) => ({
    cellAt: new Uint32Array(cells).map((_, a) =>
      faults.length === 0 ? a & (chipCells - 1) : through(address, a, unknown) & (chipCells - 1),
    ),
    shown,
    known,
  }));
}

/** What the writer must find at each address of its range of cells. */
export function presentedBytes({ cellAt, shown }: View, output: Uint8Array): Uint8Array {
  const bytes = new Uint8Array(cellAt.length);
  for (let address = 0; address < bytes.length; address++) bytes[address] = shown[output[cellAt[address]!]!]!;
  return bytes;
}
