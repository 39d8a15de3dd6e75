// What `check` says about a control store by step: buses, ends, unused lines, instructions that are the same.
import type { Finding } from '../table.js';
import { type BusFault, busFaultInWords, busFinding } from './bus-traffic.js';
import { type Complaints, complaints } from './complaints.js';
import type { Word } from './control-word.js';
import { type Settings, settingsInWords } from './flag-settings.js';
import type { Instruction } from './step-instructions.js';
import type { StepProgram } from './step-program.js';
import { walk } from './step-walk.js';
import type { Step } from './step-words.js';

export function stepFindings(program: StepProgram): readonly Finding[] {
  const complaining = complaints();
  const { first, instructions } = program;
  const opening = walk(program, first);
  first.forEach((step, i) => {
    judgeStep(program, 'every instruction', step, i, opening.reached[i]!, complaining);
  });
  for (const instruction of instructions) judgeInstruction(program, instruction, complaining);
  linesNeverUsed(program, complaining);
  sameInstructions(program, complaining);
  opcodesLeft(program, complaining);
  return complaining.findings;
}

const isEmpty = (settings: Settings): boolean => !settings.includes(1);

const whenWords = (program: StepProgram, set: Settings, reached: Settings): string => {
  const words = settingsInWords(program.space, set, reached);
  return words === '' ? '' : `, when ${words}`;
};

function judgeInstruction(program: StepProgram, instruction: Instruction, complaining: Complaints): void {
  const common = program.first.length;
  const { reached, stuck, left } = walk(program, [...program.first, ...instruction.steps]);
  instruction.steps.forEach((step, i) => {
    const here = reached[common + i]!;
    const name = `"${instruction.name}"`;
    if (isEmpty(here)) {
      const message = `${name}, step ${common + i}: this step is never reached.`;
      const why = 'The steps before it end the instruction, or hold, whatever the flags are.';
      complaining.warning('step.never', message, why, step.path);
      return;
    }
    judgeStep(program, name, step, common + i, here, complaining);
    if (!isEmpty(stuck[common + i]!)) {
      const when = whenWords(program, stuck[common + i]!, here);
      const message = `${name} never ends: step ${common + i} holds itself for ever${when}.`;
      const why =
        'No flag that could end the wait can change; name it in "changes" of a line, or take it out of "steady".';
      complaining.error('instruction.never-ends', message, why, step.path);
    }
  });
  judgeEnd(program, instruction, left, reached.at(-1), complaining);
}

/** An instruction that neither ends nor stops runs on through empty steps, unless the counter has no more or they end it. */
function judgeEnd(
  program: StepProgram,
  instruction: Instruction,
  left: Settings,
  before: Settings | undefined,
  { error }: Complaints,
): void {
  const total = program.first.length + instruction.steps.length;
  const ends = program.emptyStep.steps === 'restart' || total >= 2 ** program.step.bits;
  if (ends || isEmpty(left) || !program.lines.some((line) => line.steps === 'restart')) return;
  // What is said are the settings of the last step in which it does not end; where there is no step, all.
  const last = instruction.steps.at(-1) ?? program.first.at(-1);
  const passing = before?.map((b, s) => (b === 1 && last?.words[s]?.steps === null ? 1 : 0));
  const when = before === undefined || passing === undefined ? '' : whenWords(program, passing, before);
  const restarts = program.lines.filter((line) => line.steps === 'restart').map((line) => `"${line.name}"`);
  const message = `"${instruction.name}" never ends: after its last step, ${total - 1}, nothing restarts the steps${when}.`;
  const why = `The step counter runs on through steps that nobody wrote; assert ${restarts.join(' or ')} in the last step.`;
  error('instruction.never-ends', message, why, instruction.path, { onKey: true });
}

function judgeStep(
  program: StepProgram,
  who: string,
  step: Step,
  number: number,
  reached: Settings,
  complaining: Complaints,
): void {
  const byFault = new Map<string, { fault: BusFault; set: Settings }>();
  const counted = new Map<string, Settings>();
  const setOf = <K>(map: Map<K, Settings>, key: K): Settings => {
    const set = map.get(key) ?? new Uint8Array(reached.length);
    map.set(key, set);
    return set;
  };
  for (const word of new Set(step.words)) {
    if (word.faults.length === 0 && word.countedTwice.length === 0) continue;
    const here = reached.map((r, s) => (r === 1 && step.words[s] === word ? 1 : 0));
    if (isEmpty(here)) continue;
    const mark = (set: Settings): void => {
      for (let s = 0; s < set.length; s++) set[s]! |= here[s]!;
    };
    for (const fault of word.faults) {
      const key = busFaultInWords(fault);
      const entry = byFault.get(key) ?? { fault, set: new Uint8Array(reached.length) };
      byFault.set(key, entry);
      mark(entry.set);
    }
    for (const counter of word.countedTwice) mark(setOf(counted, counter));
  }
  const where = (set: Settings): string => `${who}, step ${number}${whenWords(program, set, reached)}`;
  for (const { fault, set } of byFault.values()) {
    complaining.add([busFinding(fault, program.buses, capital(where(set)), step.path)]);
  }
  for (const [counter, set] of counted) {
    const message = `${capital(where(set))}: several lines count "${counter}" at once.`;
    complaining.warning(
      'counter.twice',
      message,
      'A counter takes one count in a step; which one is left to the part.',
      step.path,
    );
  }
}

const capital = (text: string): string => text.charAt(0).toUpperCase() + text.slice(1);

function linesNeverUsed(program: StepProgram, { warning }: Complaints): void {
  const used = new Set<number>([...program.emptyStep.lines, ...program.unused.fill.lines]);
  const add = (word: Word): void => {
    for (const line of word.lines) used.add(line);
  };
  for (const step of [...program.first, ...program.instructions.flatMap((i) => i.steps)])
    new Set(step.words).forEach(add);
  program.lines.forEach((line, index) => {
    if (used.has(index)) return;
    const why = 'It takes a data pin and never does anything: a step forgets it, or it can go.';
    warning('line.unused', `No step asserts the line "${line.name}".`, why, ['lines', line.name], { onKey: true });
  });
}

function sameInstructions(program: StepProgram, { warning }: Complaints): void {
  const seen = new Map<string, string>();
  for (const instruction of program.instructions) {
    const key = instruction.steps.map((step) => step.words.map((word) => word.id).join()).join(';');
    const other = seen.get(key);
    if (other === undefined) {
      seen.set(key, instruction.name);
      continue;
    }
    const message = `"${instruction.name}" has the same steps as "${other}".`;
    const why = 'One of them was probably meant to do something else; one instruction can also have several opcodes.';
    warning('instruction.same', message, why, instruction.path, { onKey: true });
  }
}

function opcodesLeft(program: StepProgram, { warning }: Complaints): void {
  const taken = new Set(program.instructions.flatMap((i) => i.opcodes));
  const count = 2 ** program.opcode.bits - taken.size;
  if (count === 0 || program.unused.chosen) return;
  const message = `${count} of ${2 ** program.opcode.bits} opcodes belong to no instruction and are left to: ${program.unused.says}.`;
  const why =
    'Such an opcode comes up after power-up or by a wrong jump; say under "unused: opcodes" what it shall do.';
  warning('opcode.unused', message, why, ['instructions'], { onKey: true });
}
