// What a reader sees through faulty wires, written line by line and apart from the product's own maps, to judge them.
import type { LineName, WiringFault } from '../../src/chip/wiring-fault.js';

type Levels = Map<LineName, boolean>;

const through = (levels: Levels, fault: WiringFault): void => {
  const linesAt = 'lines' in fault ? fault.lines : [fault.line];
  if (!linesAt.every((line) => levels.has(line))) return;
  if (fault.kind === 'stuck') levels.set(fault.line, fault.level === 1);
  if (fault.kind === 'open') levels.set(fault.line, true);
  if (fault.kind === 'inverted') levels.set(fault.line, !levels.get(fault.line));
  if (fault.kind === 'crossed') {
    const [one, other] = fault.lines.map((line) => levels.get(line)!);
    levels.set(fault.lines[0], other!);
    levels.set(fault.lines[1], one!);
  }
  if (fault.kind === 'shorted') {
    const both = fault.lines.map((line) => levels.get(line)!);
    const level = fault.wins === 'low' ? both.every((v) => v) : both.some((v) => v);
    for (const line of fault.lines) levels.set(line, level);
  }
};

const levelsOf = (value: number, letter: 'A' | 'D', count: number): Levels =>
  new Map(Array.from({ length: count }, (_, i) => [`${letter}${i}` as LineName, Math.floor(value / 2 ** i) % 2 === 1]));

const valueOf = (levels: Levels): number => [...levels.values()].reduce((sum, on, i) => sum + (on ? 2 ** i : 0), 0);

export const readNaively = (bytes: Uint8Array, faults: readonly WiringFault[]): Uint8Array =>
  Uint8Array.from(bytes, (_, a) => {
    const address = levelsOf(a, 'A', Math.log2(bytes.length));
    for (const fault of faults) through(address, fault);
    const data = levelsOf(bytes[valueOf(address)]!, 'D', 8);
    for (const fault of [...faults].reverse()) through(data, fault);
    return valueOf(data);
  });
