// The parts of an AVR opcode, and how a CPU goes on after it (encodings: AVR instruction set manual).
import type { CPU } from 'avr8js';

/** Carries out one opcode: registers, flags, memory through the hooks, pc and cycles. */
export type Instruction = (cpu: CPU, opcode: number) => void;
/** Which opcodes an instruction stands for: those that equal `pattern` under `mask`. */
export type InstructionRow = readonly [mask: number, pattern: number, run: Instruction];

/** The program counter of an ATmega328P has 14 bits. */
export const pcMask = 0x3fff;

export const destination = (opcode: number): number => (opcode >> 4) & 0x1f;
export const source = (opcode: number): number => (opcode & 0x0f) | ((opcode >> 5) & 0x10);
/** The destination of instructions with a constant: r16 to r31. */
export const highDestination = (opcode: number): number => ((opcode >> 4) & 0x0f) + 16;
export const constant = (opcode: number): number => (opcode & 0x0f) | ((opcode >> 4) & 0xf0);
/** Data space address of IN and OUT, and of the bit instructions SBI, CBI, SBIS, SBIC. */
export const ioAddress = (opcode: number): number => ((opcode & 0x0f) | ((opcode >> 5) & 0x30)) + 0x20;
export const bitAddress = (opcode: number): number => ((opcode >> 3) & 0x1f) + 0x20;
/** A signed word offset of 7 bits (branches), and of 12 bits (RJMP, RCALL). */
export const near = (opcode: number): number => ((opcode >> 3) & 0x3f) - ((opcode >> 3) & 0x40);
export const far = (opcode: number): number => (opcode & 0x7ff) - (opcode & 0x800);

/** Goes on `words` from here and charges `cycles`. */
export function goOn(cpu: CPU, words: number, cycles: number): void {
  cpu.pc = (cpu.pc + words) & pcMask;
  cpu.cycles += cycles;
}
