// Comparing, subtracting and the logic instructions.
import type { CPU } from 'avr8js';
import { SREG } from './avr-registers.js';
import { constant, destination, goOn, highDestination, type InstructionRow, source } from './opcode-parts.js';

/** Flags of a - b - borrow as SREG has them (H S V N Z C), T and I kept; `sticky`: Z stays cleared when it was. */
function differenceFlags(a: number, b: number, borrow: number, sreg: number, sticky: boolean): number {
  const result = a - b - borrow;
  const byte = result & 0xff;
  const negative = byte >> 7;
  const overflow = (((a ^ b) & (a ^ byte)) >> 7) & 1;
  const zero = byte === 0 && (!sticky || (sreg & 0x02) !== 0) ? 0x02 : 0;
  const half = ((~a & b) | (b & byte) | (byte & ~a)) & 0x08 ? 0x20 : 0;
  const sign = (negative ^ overflow) << 4;
  return (sreg & 0xc0) | half | sign | (overflow << 3) | (negative << 2) | zero | (result < 0 ? 1 : 0);
}

/** Compares; where `d` names a register the difference goes there. */
function subtract(cpu: CPU, d: number | null, a: number, b: number, borrow: number, sticky: boolean): void {
  const { data } = cpu;
  data[SREG] = differenceFlags(a, b, borrow, data[SREG]!, sticky);
  if (d !== null) data[d] = a - b - borrow;
  goOn(cpu, 1, 1);
}

/** Keeps a result whose flags are S V N Z; C, H, T and I stay. */
function keep(cpu: CPU, d: number, byte: number, overflow: 0 | 1): void {
  const { data } = cpu;
  data[d] = byte;
  const negative = (byte >> 7) & 1;
  const sign = (negative ^ overflow) << 4;
  data[SREG] = (data[SREG]! & 0xe1) | sign | (overflow << 3) | (negative << 2) | (byte & 0xff ? 0 : 0x02);
  goOn(cpu, 1, 1);
}

const borrow = (cpu: CPU): number => cpu.data[SREG]! & 1;
const first = (cpu: CPU, opcode: number): number => cpu.data[destination(opcode)]!;
const second = (cpu: CPU, opcode: number): number => cpu.data[source(opcode)]!;
const high = (cpu: CPU, opcode: number): number => cpu.data[highDestination(opcode)]!;

export const arithmetic: readonly InstructionRow[] = [
  // CP, CPC, CPI
  [0xfc00, 0x1400, (cpu, o) => subtract(cpu, null, first(cpu, o), second(cpu, o), 0, false)],
  [0xfc00, 0x0400, (cpu, o) => subtract(cpu, null, first(cpu, o), second(cpu, o), borrow(cpu), true)],
  [0xf000, 0x3000, (cpu, o) => subtract(cpu, null, high(cpu, o), constant(o), 0, false)],
  // SUB, SBC, SUBI, SBCI
  [0xfc00, 0x1800, (cpu, o) => subtract(cpu, destination(o), first(cpu, o), second(cpu, o), 0, false)],
  [0xfc00, 0x0800, (cpu, o) => subtract(cpu, destination(o), first(cpu, o), second(cpu, o), borrow(cpu), true)],
  [0xf000, 0x5000, (cpu, o) => subtract(cpu, highDestination(o), high(cpu, o), constant(o), 0, false)],
  [0xf000, 0x4000, (cpu, o) => subtract(cpu, highDestination(o), high(cpu, o), constant(o), borrow(cpu), true)],
  // AND, ANDI, OR, ORI, EOR
  [0xfc00, 0x2000, (cpu, o) => keep(cpu, destination(o), first(cpu, o) & second(cpu, o), 0)],
  [0xf000, 0x7000, (cpu, o) => keep(cpu, highDestination(o), high(cpu, o) & constant(o), 0)],
  [0xfc00, 0x2800, (cpu, o) => keep(cpu, destination(o), first(cpu, o) | second(cpu, o), 0)],
  [0xf000, 0x6000, (cpu, o) => keep(cpu, highDestination(o), high(cpu, o) | constant(o), 0)],
  [0xfc00, 0x2400, (cpu, o) => keep(cpu, destination(o), first(cpu, o) ^ second(cpu, o), 0)],
  // INC, DEC
  [0xfe0f, 0x9403, (cpu, o) => keep(cpu, destination(o), first(cpu, o) + 1, first(cpu, o) === 0x7f ? 1 : 0)],
  [0xfe0f, 0x940a, (cpu, o) => keep(cpu, destination(o), first(cpu, o) - 1, first(cpu, o) === 0x80 ? 1 : 0)],
];
