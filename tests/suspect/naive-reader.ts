// What a reader sees through faulty wires, written line by line and apart from the product's own maps, to judge them.
import type { WiringFault } from '../../src/chip/wiring-fault.js';
import type { Explanation } from '../../src/suspect/explanation.js';

type Bus = 'A' | 'D';

/** Changes the levels of one bus (line 0 first) as a fault on it does; leaves them where it is on the other bus. */
const through = (levels: boolean[], bus: Bus, fault: WiringFault): void => {
  const names = 'lines' in fault ? fault.lines : [fault.line];
  if (names[0]![0] !== bus) return;
  const [one = 0, other = 0] = names.map((name) => Number(name.slice(1)));
  if (fault.kind === 'stuck') levels[one] = fault.level === 1;
  if (fault.kind === 'open') levels[one] = true;
  if (fault.kind === 'inverted') levels[one] = !levels[one];
  if (fault.kind === 'crossed') [levels[one], levels[other]] = [levels[other]!, levels[one]!];
  if (fault.kind === 'shorted') {
    const joined = fault.wins === 'low' ? levels[one]! && levels[other]! : levels[one]! || levels[other]!;
    levels[one] = joined;
    levels[other] = joined;
  }
};

/** What arrives at the far end of a bus of `count` lines; faults in the order in which the value meets them. */
export const arrives = (value: number, bus: Bus, count: number, faults: readonly WiringFault[]): number => {
  const levels = Array.from({ length: count }, (_, i) => Math.floor(value / 2 ** i) % 2 === 1);
  for (const fault of faults) through(levels, bus, fault);
  return levels.reduce((sum, on, i) => sum + (on ? 2 ** i : 0), 0);
};

export const readNaively = (bytes: Uint8Array, faults: readonly WiringFault[]): Uint8Array => {
  const lines = Math.log2(bytes.length);
  const back = [...faults].reverse();
  const data = Array.from({ length: 256 }, (_, byte) => arrives(byte, 'D', 8, back));
  return bytes.map((_, a) => data[bytes[arrives(a, 'A', lines, faults)]!]!);
};

/** Two shorts that share a line as one net: all three lines at one level, which the faults applied again and again come to. */
const asNet = (faults: readonly WiringFault[]): readonly WiringFault[] => [...faults, ...faults, ...faults];

/** The byte's bits and the address's bits moved to other places. */
const moved = (value: number, to: readonly number[]): number =>
  to.reduce((out, target, i) => out + (Math.floor(value / 2 ** i) % 2) * 2 ** target, 0);

const everywhere = (bytes: Uint8Array): Uint8Array => new Uint8Array(bytes.length).fill(1);

/**
 * True when the explanation, made again here, reads as `readback` wherever it reads a cell that is `defined`, and that is
 * somewhere; null where it blames no wire at reading.
 */
export const makesAgain = (
  bytes: Uint8Array,
  readback: Uint8Array,
  one: Explanation,
  defined: Uint8Array = everywhere(bytes),
): boolean | null => {
  const same = (made: Uint8Array, known: Uint8Array): boolean =>
    known.includes(1) && made.every((byte, a) => known[a] !== 1 || byte === readback[a]);
  const through = (wires: readonly WiringFault[]): boolean =>
    same(
      readNaively(bytes, wires),
      readNaively(
        defined,
        wires.filter((f) => ('lines' in f ? f.lines[0] : f.line).startsWith('A')),
      ),
    );
  const { permutation, faults } = one;
  if (one.kind === 'permutation' && permutation !== null) {
    const data = Array.from({ length: 256 }, (_, byte) => moved(byte, permutation.data));
    const from = Array.from(bytes, (_, a) => moved(a, permutation.address));
    return same(
      bytes.map((_, a) => data[bytes[from[a]!]!]!),
      defined.map((_, a) => defined[from[a]!]!),
    );
  }
  const shorts = faults.length === 2 && faults.every((f) => f.kind === 'shorted');
  if (one.kind === 'two-faults') return through(faults) || (shorts && through(asNet(faults)));
  const atReading =
    ['stuck', 'inverted', 'crossed', 'shorted'].includes(one.kind) &&
    (one.cause.is !== 'wires' || one.cause.when === 'reading');
  return atReading ? through(faults) : null;
};
