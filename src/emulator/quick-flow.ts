// Branches, skips, calls and the stack.
import type { CPU } from 'avr8js';
import { SREG } from './avr-registers.js';
import { bitAddress, destination, far, goOn, type InstructionRow, near, pcMask, source } from './opcode-parts.js';

const SPL = 0x5d;

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

function branch(cpu: CPU, opcode: number, when: 0 | 1): void {
  if (((cpu.data[SREG]! >> (opcode & 7)) & 1) === when) goOn(cpu, near(opcode) + 1, 2);
  else goOn(cpu, 1, 1);
}

/** LDS, STS, JMP and CALL take two words. */
const isTwoWords = (opcode: number): boolean => (opcode & 0xfc0f) === 0x9000 || (opcode & 0xfe0c) === 0x940c;

function skip(cpu: CPU, when: boolean): void {
  const words = when ? (isTwoWords(cpu.progMem[cpu.pc + 1]!) ? 3 : 2) : 1;
  goOn(cpu, words, words);
}

const bit = (opcode: number): number => 1 << (opcode & 7);

export const flow: readonly InstructionRow[] = [
  // BRBS, BRBC, RJMP
  [0xfc00, 0xf000, (cpu, o) => branch(cpu, o, 1)],
  [0xfc00, 0xf400, (cpu, o) => branch(cpu, o, 0)],
  [0xf000, 0xc000, (cpu, o) => goOn(cpu, far(o) + 1, 2)],
  // CPSE, SBRC, SBRS, SBIC, SBIS
  [0xfc00, 0x1000, (cpu, o) => skip(cpu, cpu.data[destination(o)] === cpu.data[source(o)])],
  [0xfe08, 0xfc00, (cpu, o) => skip(cpu, (cpu.data[destination(o)]! & bit(o)) === 0)],
  [0xfe08, 0xfe00, (cpu, o) => skip(cpu, (cpu.data[destination(o)]! & bit(o)) !== 0)],
  [0xff00, 0x9900, (cpu, o) => skip(cpu, (cpu.readData(bitAddress(o)) & bit(o)) === 0)],
  [0xff00, 0x9b00, (cpu, o) => skip(cpu, (cpu.readData(bitAddress(o)) & bit(o)) !== 0)],
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
