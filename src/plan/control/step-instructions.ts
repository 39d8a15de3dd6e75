// The instructions of a control store by step: opcodes given once each, steps that fit, and what the other opcodes do.

import { countOf } from '../../ground/quantity.js';
import { type Complaints, nearest } from '../complaints.js';
import type { Field, Path } from '../table.js';
import type { Word } from './control-word.js';
import { sayWritten, valuesIn } from './field-values.js';
import type { StepContents, StepSpec } from './step-schema.js';
import type { Step } from './step-words.js';

export interface Instruction {
  readonly name: string;
  readonly opcodes: readonly number[];
  readonly path: Path;
  /** Its own steps; the common first steps come before them. */
  readonly steps: readonly Step[];
}

/** What an opcode does that no instruction has. */
export interface Unused {
  /** Steps after the common ones. */
  readonly steps: readonly Step[];
  /** What fills the steps after those. */
  readonly fill: Word;
  /** In words: "restart", "like `rest`". */
  readonly says: string;
  /** False where the plan leaves it to the tool. */
  readonly chosen: boolean;
}

export function compileInstructions(
  contents: StepContents,
  opcode: Field,
  step: Field,
  resolve: (spec: StepSpec, path: Path) => Step,
  complaints: Complaints,
): readonly Instruction[] {
  const { error } = complaints;
  const common = contents.first?.length ?? 0;
  const fit = 2 ** step.bits;
  const counter = `A step counter of ${countOf(step.bits, 'bit')} goes from ${fit - 1} back to 0, so the steps from here on never come.`;
  if (common > fit) {
    const message = `There are ${common} common first steps, but the field "${step.name}" counts only ${fit}.`;
    error('step.beyond', message, counter, ['first', fit]);
  }
  const owners = new Map<number, string>();
  return Object.entries(contents.instructions).map(([name, spec]) => {
    const path = ['instructions', name];
    const opcodes = valuesIn(spec.opcode, opcode);
    if (typeof opcodes === 'string') {
      const why = 'Numbers are decimal; 0x begins a hexadecimal number and 0b a binary one.';
      error('opcode.wrong', `The opcode of "${name}" is not right: ${opcodes}.`, why, [...path, 'opcode']);
    }
    const own = typeof opcodes === 'string' ? [] : opcodes;
    const say = (codes: readonly number[]): string => sayWritten(codes, spec.opcode, opcode);
    claimOpcodes(name, own, owners, say, [...path, 'opcode'], complaints);
    const total = common + spec.steps.length;
    if (common <= fit && total > fit) {
      const message = `"${name}" has ${total} steps with the common ones, but the field "${step.name}" counts only ${fit}.`;
      error('step.beyond', message, counter, [...path, 'steps', fit - common]);
    }
    return { name, path, opcodes: own, steps: spec.steps.map((s, i) => resolve(s, [...path, 'steps', i])) };
  });
}

function claimOpcodes(
  name: string,
  opcodes: readonly number[],
  owners: Map<number, string>,
  say: (codes: readonly number[]) => string,
  path: Path,
  { error }: Complaints,
): void {
  const shared = opcodes.filter((code) => owners.has(code));
  for (const other of new Set(shared.map((code) => owners.get(code)!))) {
    const codes = shared.filter((code) => owners.get(code) === other);
    const claimed = codes.length > 1 ? `Opcodes ${say(codes)} belong` : `Opcode ${say(codes)} belongs`;
    const message = `${claimed} to "${other}" already, so "${name}" cannot have ${codes.length > 1 ? 'them' : 'it'}.`;
    error(
      'opcode.twice',
      message,
      'The store answers an opcode with one instruction only; give one of them another.',
      path,
    );
  }
  for (const code of opcodes) if (!owners.has(code)) owners.set(code, name);
}

export function unusedOpcodes(
  contents: StepContents,
  instructions: readonly Instruction[],
  canRestart: boolean,
  emptyStep: Word,
  emptyWord: (what: string, path: Path) => Word,
  { error }: Complaints,
): Unused {
  const path = ['unused', 'opcodes'];
  const asked = contents.unused?.opcodes;
  const like = instructions.find((i) => i.name === asked);
  if (like !== undefined) return { steps: like.steps, fill: emptyStep, says: `like "${like.name}"`, chosen: true };
  const fills = ['idle', 'restart', 'undefined'];
  if (asked !== undefined && !fills.includes(asked)) {
    const message = `There is no instruction "${asked}"${nearest(asked, [...fills, ...instructions.map((i) => i.name)])}.`;
    error(
      'instruction.unknown',
      message,
      'Unused opcodes are idle, restart or undefined, or do what one instruction does.',
      path,
    );
  }
  const says = asked ?? (canRestart ? 'restart' : 'idle');
  return { steps: [], fill: emptyWord(says, path), says, chosen: asked !== undefined };
}
