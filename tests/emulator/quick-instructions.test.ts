// Every opcode that the bench carries out itself does what avr8js does, in any state.
import { avrInstruction, CPU } from 'avr8js';
import { expect, test } from 'vitest';
import { instructions } from '../../src/emulator/quick-instructions.js';
import { seededRandom } from '../../src/ground/random.js';

const random = seededRandom(20);
const SREG = 0x5f;
/** avr8js 0.21.1 takes the half borrow from bit 0; the instruction set manual takes it from bit 3. It is tested apart. */
const allButHalf = 0xdf;

const pool = random.bytes(8192);
const pair = [0, 1].map(() => new CPU(new Uint16Array(0x4000), 2048)) as [CPU, CPU];

/** Two CPUs in the same random state, with this opcode at the program counter and a stack inside SRAM. */
function pairAt(opcode: number): readonly [CPU, CPU] {
  const from = random.below(pool.length - 2304);
  const sp = 0x400 + random.below(0x300);
  const pc = 0x1000 + random.below(0x1000);
  const next = random.pick([0x100 + random.below(0x700), 0x9000, 0x940e, 0x940c, 0x9200]);
  for (const cpu of pair) {
    cpu.data.set(pool.subarray(from, from + cpu.data.length));
    cpu.dataView.setUint16(0x5d, sp, true);
    cpu.progMem.set([opcode, next], pc);
    cpu.pc = pc;
    cpu.cycles = 0;
  }
  return pair;
}

const quick = Array.from({ length: 0x10000 }, (_, opcode) => opcode).filter(
  (opcode) => instructions[opcode] !== avrInstruction,
);

test('when a common opcode runs, then registers, flags, memory, program counter and cycles are those of avr8js', () => {
  expect(quick.length).toBeGreaterThan(30_000);
  for (let i = 0; i < 20_000; i++) {
    const opcode = random.pick(quick);
    const [ours, theirs] = pairAt(opcode);
    instructions[opcode]!(ours, opcode);
    avrInstruction(theirs);
    for (const cpu of [ours, theirs]) cpu.data[SREG]! &= allButHalf;
    // CBI costs two cycles (instruction set manual); avr8js 0.21.1 charges one.
    if ((opcode & 0xff00) === 0x9800) theirs.cycles++;
    const same = ours.pc === theirs.pc && ours.cycles === theirs.cycles && Buffer.compare(ours.data, theirs.data) === 0;
    if (!same) expect([opcode.toString(16), ours.pc, ours.cycles]).toEqual(['as avr8js', theirs.pc, theirs.cycles]);
  }
});

test('when subtraction meets every pair of bytes and a borrow, then all flags agree', () => {
  for (const opcode of [0x1401, 0x0401, 0x1801, 0x0801]) {
    const [ours, theirs] = pairAt(opcode);
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
  const cpu = pairAt(0x1401)[0];
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
