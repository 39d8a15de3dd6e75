// A control store by step, laid out: what every opcode does at every step, ready to be read cell by cell.
import type { Word } from './control-word.js';
import type { Instruction } from './step-instructions.js';
import type { StepProgram } from './step-program.js';
import type { Step } from './step-words.js';

export interface OpcodeRow {
  /** Null where the opcode belongs to no instruction. */
  readonly instruction: Instruction | null;
  /** For every value of the step field one word for each setting of the flags. */
  readonly words: readonly (readonly Word[])[];
  /** How many of the steps somebody wrote; the rest is filled. */
  readonly written: number;
}

/** One row for every value of the opcode field. Instructions with several opcodes share one row. */
export function layOut(program: StepProgram): readonly OpcodeRow[] {
  const row = (instruction: Instruction | null, own: readonly Step[], fill: Word): OpcodeRow => {
    const steps = [...program.first, ...own];
    const filling = Array.from(program.possible, () => fill);
    const words = Array.from({ length: 2 ** program.step.bits }, (_, step) => steps[step]?.words ?? filling);
    return { instruction, words, written: steps.length };
  };
  const unused = row(null, program.unused.steps, program.unused.fill);
  const rows = Array.from({ length: 2 ** program.opcode.bits }, () => unused);
  for (const instruction of program.instructions) {
    const own = row(instruction, instruction.steps, program.emptyStep);
    // Where two instructions claim an opcode the first keeps it; the compiler has complained.
    for (const code of instruction.opcodes) if (rows[code] === unused) rows[code] = own;
  }
  return rows;
}
