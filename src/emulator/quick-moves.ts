// Moving bytes: between registers, to and from I/O and memory, and single I/O bits.
import {
  bitAddress,
  constant,
  destination,
  goOn,
  highDestination,
  type InstructionRow,
  ioAddress,
  source,
} from './opcode-parts.js';

export const moves: readonly InstructionRow[] = [
  // NOP
  [0xffff, 0x0000, (cpu) => goOn(cpu, 1, 1)],
  // LDI, MOV, MOVW
  [
    0xf000,
    0xe000,
    (cpu, o) => {
      cpu.data[highDestination(o)] = constant(o);
      goOn(cpu, 1, 1);
    },
  ],
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
  // IN, OUT
  [
    0xf800,
    0xb000,
    (cpu, o) => {
      cpu.data[destination(o)] = cpu.readData(ioAddress(o));
      goOn(cpu, 1, 1);
    },
  ],
  [
    0xf800,
    0xb800,
    (cpu, o) => {
      cpu.writeData(ioAddress(o), cpu.data[destination(o)]!);
      goOn(cpu, 1, 1);
    },
  ],
  // SBI, CBI; avr8js 0.21.1 charges CBI one cycle, the instruction set summary says two.
  [
    0xff00,
    0x9a00,
    (cpu, o) => {
      const mask = 1 << (o & 7);
      cpu.writeData(bitAddress(o), cpu.readData(bitAddress(o)) | mask, mask);
      goOn(cpu, 1, 2);
    },
  ],
  [
    0xff00,
    0x9800,
    (cpu, o) => {
      const mask = 1 << (o & 7);
      cpu.writeData(bitAddress(o), cpu.readData(bitAddress(o)) & ~mask, mask);
      goOn(cpu, 1, 2);
    },
  ],
];
