// What `check` says about a control store by step: buses, ends, unused lines, instructions that are the same.

import { type Complaints, complaints } from '../complaints.js';
import type { Finding, Path } from '../table.js';
import { busFaultInWords, busFinding } from './bus-traffic.js';
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
  if (!isEmpty(left)) judgeEnd(program, instruction, reached, complaining);
}

/** An instruction that neither ends nor stops runs on through empty steps, unless the counter has no more or they end it. */
function judgeEnd(
  program: StepProgram,
  instruction: Instruction,
  reached: readonly Settings[],
  { error }: Complaints,
): void {
  const restarts = program.lines.flatMap(({ asserted, codes }) =>
    [asserted, ...codes.values()].filter(({ steps }) => steps === 'restart').map(({ name }) => `"${name}"`),
  );
  const ends = program.emptyStep.steps === 'restart' || reached.length >= 2 ** program.step.bits;
  if (ends || restarts.length === 0) return;
  const number = reached.length - 1;
  const last = [...program.first, ...instruction.steps][number];
  const passing = last && Uint8Array.from(last.words, (word) => (word.steps === null ? 1 : 0));
  const how = passing
    ? `after its last step, ${number}, nothing restarts the steps${whenWords(program, passing, reached[number]!)}`
    : 'it has no steps, and nothing restarts the steps';
  const message = `"${instruction.name}" never ends: ${how}.`;
  const why = `The step counter runs on through steps that nobody wrote; assert ${restarts.join(' or ')} in the last step.`;
  error('instruction.never-ends', message, why, instruction.path, { onKey: true });
}

/** One thing wrong with some words of a step. */
interface Trouble {
  /** Says it; `where` begins the sentence. */
  readonly finding: (where: string) => Finding;
  /** The settings of the flags in which it strikes. */
  readonly settings: Settings;
}

function judgeStep(
  program: StepProgram,
  who: string,
  step: Step,
  number: number,
  reached: Settings,
  { add }: Complaints,
): void {
  const troubles = new Map<string, Trouble>();
  for (const [setting, word] of step.words.entries()) {
    if (reached[setting] !== 1) continue;
    for (const [key, finding] of troublesOf(program, word, step.path)) {
      const trouble = troubles.get(key) ?? { finding, settings: new Uint8Array(reached.length) };
      trouble.settings[setting] = 1;
      troubles.set(key, trouble);
    }
  }
  const place = `${who.charAt(0).toUpperCase()}${who.slice(1)}, step ${number}`;
  add([...troubles.values()].map((t) => t.finding(`${place}${whenWords(program, t.settings, reached)}`)));
}

function troublesOf(program: StepProgram, word: Word, path: Path): readonly (readonly [string, Trouble['finding']])[] {
  return [
    ...word.faults.map(
      (fault) => [busFaultInWords(fault), (where: string) => busFinding(fault, program.buses, where, path)] as const,
    ),
    ...word.countedTwice.map(
      (counter) => [`count ${counter}`, (where: string) => countedTwice(counter, where, path)] as const,
    ),
  ];
}

const countedTwice = (counter: string, where: string, path: Path): Finding => ({
  severity: 'warning',
  code: 'counter.twice',
  message: `${where}: several lines count "${counter}" at once.`,
  why: 'A counter takes one count in a step; which one is left to the part.',
  path,
});

function linesNeverUsed(program: StepProgram, { warning }: Complaints): void {
  const used = new Set<number>([...program.emptyStep.lines, ...program.unused.fill.lines]);
  const steps = [...program.first, ...program.instructions.flatMap((instruction) => instruction.steps)];
  for (const step of steps) {
    for (const word of new Set(step.words)) for (const line of word.lines) used.add(line);
  }
  program.lines.forEach((line, index) => {
    if (used.has(index)) return;
    const why = 'It takes a data pin and never does anything: a step forgets it, or it can go.';
    warning('line.unused', `No step asserts the line "${line.name}".`, why, ['lines', line.name], { onKey: true });
  });
}

function sameInstructions(program: StepProgram, { warning }: Complaints): void {
  const seen = new Map<string, string>();
  for (const instruction of program.instructions) {
    const key = JSON.stringify(instruction.steps.map((step) => step.words.map((word) => word.id)));
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
