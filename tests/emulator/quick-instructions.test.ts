// Every opcode that the bench carries out itself does what avr8js does, in any state.
import { avrInstruction, CPU } from 'avr8js';
import { expect, test } from 'vitest';
import { instructions, isQuick } from '../../src/emulator/quick-instructions.js';
import { seededRandom } from '../../src/ground/random.js';

const random = seededRandom(20);
const SREG = 0x5f;
/** avr8js 0.21.1 takes the half borrow from bit 0; the instruction set manual takes it from bit 3. It is tested apart. */
const allButHalf = 0xdf;

/** A CPU in a random state, with this opcode at its program counter and a stack inside SRAM. */
function stateWith(opcode: number, seed: number): CPU {
  const random = seededRandom(seed);
  const cpu = new CPU(new Uint16Array(0x4000), 2048);
  cpu.data.set(random.bytes(cpu.data.length));
  cpu.dataView.setUint16(0x5d, 0x400 + random.below(0x300), true);
  cpu.pc = 0x1000 + random.below(0x1000);
  cpu.progMem[cpu.pc] = opcode;
  cpu.progMem[cpu.pc + 1] = random.pick([0x100 + random.below(0x700), 0x9000, 0x940e, 0x940c, 0x9200]);
  return cpu;
}

const quick = Array.from({ length: 0x10000 }, (_, opcode) => opcode).filter(isQuick);

test('when a common opcode runs, then registers, flags, memory, program counter and cycles are those of avr8js', () => {
  expect(quick.length).toBeGreaterThan(30_000);
  for (let i = 0; i < 3000; i++) {
    const opcode = random.pick(quick);
    const [ours, theirs] = [stateWith(opcode, i), stateWith(opcode, i)];
    instructions[opcode]!(ours, opcode);
    avrInstruction(theirs);
    for (const cpu of [ours, theirs]) cpu.data[SREG]! &= allButHalf;
    // CBI costs two cycles (instruction set manual); avr8js 0.21.1 charges one.
    if ((opcode & 0xff00) === 0x9800) theirs.cycles++;
    expect([opcode, ours.pc, ours.cycles]).toEqual([opcode, theirs.pc, theirs.cycles]);
    expect(Buffer.compare(ours.data, theirs.data), `opcode ${opcode.toString(16)}`).toBe(0);
  }
});

test('when subtraction meets every pair of bytes and a borrow, then all flags agree', () => {
  for (const opcode of [0x1401, 0x0401, 0x1801, 0x0801]) {
    const [ours, theirs] = [stateWith(opcode, 1), stateWith(opcode, 1)];
    for (let a = 0; a < 256; a += 3) {
      for (let b = 0; b < 256; b++) {
        for (const cpu of [ours, theirs]) {
          cpu.data[0] = a;
          cpu.data[1] = b;
          // Not Z and C together with 0 - 255 - 1: avr8js clears Z there, the manual keeps it (the byte is 00).
          cpu.data[SREG] = (a + b) & (a === 0 && b === 255 ? 0xfe : 0xff);
          cpu.pc = 0x1000;
          cpu.progMem[0x1000] = opcode;
        }
        instructions[opcode]!(ours, opcode);
        avrInstruction(theirs);
        const flags = (cpu: CPU) => cpu.data[SREG]! & allButHalf;
        if (flags(ours) !== flags(theirs) || ours.data[0] !== theirs.data[0]) expect([opcode, a, b]).toBe('equal');
      }
    }
  }
});

test('when the low halves of two bytes need a borrow, then the half-carry flag says so', () => {
  const cpu = stateWith(0x1401, 1);
  for (const [a, b, half] of [
    [0x10, 0x01, 0x20],
    [0x1f, 0x0f, 0],
    [0x08, 0x09, 0x20],
    [0x01, 0x00, 0],
  ] as const) {
    cpu.data[0] = a;
    cpu.data[1] = b;
    instructions[0x1401]!(cpu, 0x1401);
    expect(cpu.data[SREG]! & 0x20).toBe(half);
  }
});
