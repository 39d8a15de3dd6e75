// A control store by step, laid out: what every opcode does at every step, ready to be read cell by cell.
import type { Instruction } from './step-instructions.js';
import type { StepProgram } from './step-program.js';
import { evenStep, type Step } from './step-words.js';

export interface OpcodeRow {
  /** Null where the opcode belongs to no instruction. */
  readonly instruction: Instruction | null;
  /** One step for every value of the step field. */
  readonly steps: readonly Step[];
  /** How many of the steps somebody wrote; the rest is filled. */
  readonly written: number;
}

/** One row for every value of the opcode field. Instructions with several opcodes share one row. */
export function layOut(program: StepProgram): readonly OpcodeRow[] {
  const size = program.space.size;
  const fit = 2 ** program.step.bits;
  const row = (instruction: Instruction | null, own: readonly Step[], fill: Step): OpcodeRow => {
    const steps = [...program.first, ...own].slice(0, fit);
    const written = steps.length;
    while (steps.length < fit) steps.push(fill);
    return { instruction, steps, written };
  };
  const unused = row(null, program.unused.steps, evenStep(program.unused.fill, size));
  const rows = Array.from({ length: 2 ** program.opcode.bits }, () => unused);
  const empty = evenStep(program.emptyStep, size);
  for (const instruction of program.instructions) {
    const own = row(instruction, instruction.steps, empty);
    // Where two instructions claim an opcode the first keeps it; the compiler has complained.
    for (const code of instruction.opcodes) if (rows[code] === unused) rows[code] = own;
  }
  return rows;
}
