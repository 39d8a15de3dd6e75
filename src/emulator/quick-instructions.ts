// The instructions that compiled C runs most, looked up in a table: avr8js finds each by a chain of some forty comparisons.
// Everything else goes to avr8js; a test holds every opcode here to it, state by state.
import { avrInstruction, type CPU } from 'avr8js';

/** Carries out one opcode: registers, flags, memory through the hooks, pc and cycles. */
export type Instruction = (cpu: CPU, opcode: number) => void;

const SREG = 0x5f;
const SPL = 0x5d;
/** The program counter of an ATmega328P has 14 bits. */
const pcMask = 0x3fff;

/** Goes on `words` from here and charges `cycles`. */
function goOn(cpu: CPU, words: number, cycles: number): void {
  cpu.pc = (cpu.pc + words) & pcMask;
  cpu.cycles += cycles;
}

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

const destination = (opcode: number): number => (opcode >> 4) & 0x1f;
const source = (opcode: number): number => (opcode & 0x0f) | ((opcode >> 5) & 0x10);
const highDestination = (opcode: number): number => ((opcode >> 4) & 0x0f) + 16;
const constant = (opcode: number): number => (opcode & 0x0f) | ((opcode >> 4) & 0xf0);
/** A signed word offset of 7 bits (branches), and of 12 bits (RJMP, RCALL). */
const near = (opcode: number): number => ((opcode >> 3) & 0x3f) - ((opcode >> 3) & 0x40);
const far = (opcode: number): number => (opcode & 0x7ff) - (opcode & 0x800);

const stackPointer = (data: Uint8Array): number => data[SPL]! | (data[SPL + 1]! << 8);
function setStackPointer(data: Uint8Array, sp: number): void {
  data[SPL] = sp & 0xff;
  data[SPL + 1] = sp >> 8;
}

function pushReturn(data: Uint8Array, pc: number): void {
  const sp = stackPointer(data);
  data[sp] = pc & 0xff;
  data[sp - 1] = pc >> 8;
  setStackPointer(data, sp - 2);
}

/** Subtracts and keeps the flags; keeps the result too when `d` is a register. */
function subtract(cpu: CPU, d: number, a: number, b: number, borrow: number, sticky: boolean): void {
  const { data } = cpu;
  data[SREG] = differenceFlags(a, b, borrow, data[SREG]!, sticky);
  if (d >= 0) data[d] = a - b - borrow;
  goOn(cpu, 1, 1);
}

function branch(cpu: CPU, opcode: number, when: 0 | 1): void {
  if (((cpu.data[SREG]! >> (opcode & 7)) & 1) === when) goOn(cpu, near(opcode) + 1, 2);
  else goOn(cpu, 1, 1);
}

const library: Instruction = (cpu, opcode) => {
  avrInstruction(cpu);
  // avr8js 0.21.1 charges CBI one cycle; the instruction set summary says two.
  if ((opcode & 0xff00) === 0x9800) cpu.cycles++;
};

/** Masks and patterns: AVR instruction set manual. */
const quick: readonly (readonly [mask: number, pattern: number, run: Instruction])[] = [
  // CP, CPC, CPI
  [0xfc00, 0x1400, (cpu, o) => subtract(cpu, -1, cpu.data[destination(o)]!, cpu.data[source(o)]!, 0, false)],
  [
    0xfc00,
    0x0400,
    (cpu, o) => subtract(cpu, -1, cpu.data[destination(o)]!, cpu.data[source(o)]!, cpu.data[SREG]! & 1, true),
  ],
  [0xf000, 0x3000, (cpu, o) => subtract(cpu, -1, cpu.data[highDestination(o)]!, constant(o), 0, false)],
  // SUB, SUBI, SBC, SBCI
  [
    0xfc00,
    0x1800,
    (cpu, o) => subtract(cpu, destination(o), cpu.data[destination(o)]!, cpu.data[source(o)]!, 0, false),
  ],
  [0xf000, 0x5000, (cpu, o) => subtract(cpu, highDestination(o), cpu.data[highDestination(o)]!, constant(o), 0, false)],
  [
    0xfc00,
    0x0800,
    (cpu, o) =>
      subtract(cpu, destination(o), cpu.data[destination(o)]!, cpu.data[source(o)]!, cpu.data[SREG]! & 1, true),
  ],
  [
    0xf000,
    0x4000,
    (cpu, o) =>
      subtract(cpu, highDestination(o), cpu.data[highDestination(o)]!, constant(o), cpu.data[SREG]! & 1, true),
  ],
  // LDI
  [
    0xf000,
    0xe000,
    (cpu, o) => {
      cpu.data[highDestination(o)] = constant(o);
      goOn(cpu, 1, 1);
    },
  ],
  // MOV, MOVW
  [
    0xfc00,
    0x2c00,
    (cpu, o) => {
      cpu.data[destination(o)] = cpu.data[source(o)]!;
      goOn(cpu, 1, 1);
    },
  ],
  [
    0xff00,
    0x0100,
    (cpu, o) => {
      const from = (o & 0x0f) * 2;
      const to = ((o >> 4) & 0x0f) * 2;
      cpu.data[to] = cpu.data[from]!;
      cpu.data[to + 1] = cpu.data[from + 1]!;
      goOn(cpu, 1, 1);
    },
  ],
  // LDS: as in avr8js a load has spent its first cycle when the memory is read.
  [
    0xfe0f,
    0x9000,
    (cpu, o) => {
      cpu.cycles++;
      cpu.data[destination(o)] = cpu.readData(cpu.progMem[cpu.pc + 1]!);
      goOn(cpu, 2, 1);
    },
  ],
  // STS
  [
    0xfe0f,
    0x9200,
    (cpu, o) => {
      cpu.writeData(cpu.progMem[cpu.pc + 1]!, cpu.data[destination(o)]!);
      goOn(cpu, 2, 2);
    },
  ],
  // BRBS, BRBC, RJMP
  [0xfc00, 0xf000, (cpu, o) => branch(cpu, o, 1)],
  [0xfc00, 0xf400, (cpu, o) => branch(cpu, o, 0)],
  [0xf000, 0xc000, (cpu, o) => goOn(cpu, far(o) + 1, 2)],
  // RCALL, CALL, RET
  [
    0xf000,
    0xd000,
    (cpu, o) => {
      pushReturn(cpu.data, cpu.pc + 1);
      goOn(cpu, far(o) + 1, 3);
    },
  ],
  [
    0xffff,
    0x940e,
    (cpu) => {
      pushReturn(cpu.data, cpu.pc + 2);
      cpu.pc = cpu.progMem[cpu.pc + 1]! & pcMask;
      cpu.cycles += 4;
    },
  ],
  [
    0xffff,
    0x9508,
    (cpu) => {
      const sp = stackPointer(cpu.data) + 2;
      setStackPointer(cpu.data, sp);
      cpu.pc = ((cpu.data[sp - 1]! << 8) | cpu.data[sp]!) & pcMask;
      cpu.cycles += 4;
    },
  ],
  // PUSH, POP
  [
    0xfe0f,
    0x920f,
    (cpu, o) => {
      const sp = stackPointer(cpu.data);
      cpu.data[sp] = cpu.data[destination(o)]!;
      setStackPointer(cpu.data, sp - 1);
      goOn(cpu, 1, 2);
    },
  ],
  [
    0xfe0f,
    0x900f,
    (cpu, o) => {
      const sp = stackPointer(cpu.data) + 1;
      setStackPointer(cpu.data, sp);
      cpu.data[destination(o)] = cpu.data[sp]!;
      goOn(cpu, 1, 2);
    },
  ],
];

/** What carries out each of the 65536 opcodes. */
export const instructions: readonly Instruction[] = Array.from(
  { length: 0x10000 },
  (_, opcode) => quick.find(([mask, pattern]) => (opcode & mask) === pattern)?.[2] ?? library,
);

/** True for an opcode that this file carries out itself. */
export const isQuick = (opcode: number): boolean => instructions[opcode] !== library;
