// The instructions that compiled C runs most, found in a table: avr8js finds each by a chain of some forty comparisons.
// Everything else goes to avr8js; a test holds every opcode here to it, state by state.
import { avrInstruction } from 'avr8js';
import type { Instruction } from './opcode-parts.js';
import { arithmetic } from './quick-arithmetic.js';
import { flow } from './quick-flow.js';
import { moves } from './quick-moves.js';

const quick = [...arithmetic, ...flow, ...moves];

/** What carries out each of the 65536 opcodes. */
export const instructions: readonly Instruction[] = Array.from(
  { length: 0x10000 },
  (_, opcode) => quick.find(([mask, pattern]) => (opcode & mask) === pattern)?.[2] ?? avrInstruction,
);

const decoded = new WeakMap<Uint16Array, readonly Instruction[]>();

/** What carries out the instruction at each word of a program; decoded once for a program. */
export function decode(flash: Uint16Array): readonly Instruction[] {
  const known = decoded.get(flash) ?? Array.from(flash, (opcode) => instructions[opcode]!);
  decoded.set(flash, known);
  return known;
}
