// What `check` says about a control store by step: buses, ends, unused lines, instructions that are the same.

import { countOf } from '../../ground/quantity.js';
import { type Complaints, complaints } from '../complaints.js';
import type { Finding, Path } from '../table.js';
import { everyValue } from '../value-range.js';
import { busFaultInWords, busFinding } from './bus-traffic.js';
import type { StepEffect, Word } from './control-word.js';
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
    if (!isEmpty(stuck[common + i]!)) judgeHold(program, name, step, common + i, stuck[common + i]!, here, complaining);
  });
  if (!isEmpty(left)) judgeEnd(program, instruction, reached, complaining);
}

/** A hold that nothing ends: meant where the step holds whatever the flags are, a mistake where it seems to wait for one. */
function judgeHold(
  program: StepProgram,
  name: string,
  step: Step,
  number: number,
  stuck: Settings,
  here: Settings,
  { error, warning }: Complaints,
): void {
  if (step.words.every((word, s) => word.steps === 'hold' || program.possible[s] === 0)) {
    const holds = namesWith(program, 'hold').join(' or ');
    const message = `${name} stops here until a reset: step ${number} holds itself whatever the flags are.`;
    const why = `If that is meant, give the line "steps: stop" in place of what ${holds} has; if not, give the step a case that goes on.`;
    warning('instruction.stops', message, why, step.path);
    return;
  }
  const message = `${name} never ends: step ${number} holds itself for ever${whenWords(program, stuck, here)}.`;
  const why = 'No flag that could end the wait can change; name it in "changes" of a line, or take it out of "steady".';
  error('instruction.never-ends', message, why, step.path);
}

/** Lines, and codes of lines, with an effect on the step counter, in quotes. */
const namesWith = (program: StepProgram, effect: StepEffect): readonly string[] =>
  program.lines.flatMap(({ asserted, codes }) =>
    [asserted, ...codes.values()].filter(({ steps }) => steps === effect).map(({ name }) => `"${name}"`),
  );

/** An instruction that neither ends nor stops runs on through the steps that nobody wrote, until they end it or the counter wraps. */
function judgeEnd(
  program: StepProgram,
  instruction: Instruction,
  reached: readonly Settings[],
  { error, warning }: Complaints,
): void {
  const restarts = namesWith(program, 'restart').join(' or ');
  const idle = 2 ** program.step.bits - reached.length;
  if (program.wraps || program.emptyStep.steps === 'restart' || idle <= 0 || restarts === '') return;
  const number = reached.length - 1;
  const last = [...program.first, ...instruction.steps][number];
  const passing = last && Uint8Array.from(last.words, (word) => (word.steps === null ? 1 : 0));
  const after = passing
    ? `after its last step, ${number}, nothing restarts the steps${whenWords(program, passing, reached[number]!)}`
    : 'it has no steps, and nothing restarts the steps';
  const more = { onKey: true };
  if (program.emptyStep === program.pool.unsaid) {
    const message = `"${instruction.name}" never ends: ${after}.`;
    const why = `The step counter runs on through steps that are undefined; assert ${restarts} in the last step.`;
    error('instruction.never-ends', message, why, instruction.path, more);
    return;
  }
  const message = `"${instruction.name}" runs on: ${after}, so the counter wraps to step 0 after ${countOf(idle, 'idle step')}.`;
  const why = `If that is meant, say "unused: { steps: wrap }"; if not, assert ${restarts} in the last step.`;
  warning('instruction.wraps', message, why, instruction.path, more);
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
    ...(holdsAndRestarts(word)
      ? [['hold and restart', (where: string) => heldAndRestarted(word, where, path)] as const]
      : []),
  ];
}

const holdsAndRestarts = ({ actions }: Word): boolean =>
  (['hold', 'restart'] as const).every((effect) => actions.some(({ steps }) => steps === effect));

const heldAndRestarted = ({ actions }: Word, where: string, path: Path): Finding => {
  const named = (effect: StepEffect): string => `"${actions.find(({ steps }) => steps === effect)!.name}"`;
  return {
    severity: 'warning',
    code: 'steps.both',
    message: `${where}: ${named('hold')} holds the step and ${named('restart')} restarts the steps, both at once.`,
    why: 'Which of the two the step counter follows is left to the part; assert one of them.',
    path,
  };
};

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
  const all = everyValue(program.opcode).length;
  const count = all - taken.size;
  if (count === 0 || program.unused.chosen) return;
  const message = `${count} of ${all} opcodes belong to no instruction and are left to: ${program.unused.says}.`;
  const why =
    'Such an opcode comes up after power-up or by a wrong jump; say under "unused: opcodes" what it shall do.';
  warning('opcode.unused', message, why, ['instructions'], { onKey: true });
}
