// A control store by step in the builder's words: one cell, one difference, the whole table.
import type { ListRow, OutputValues } from '../table.js';
import { type Action, busFaultInWords, busFaults } from './bus-traffic.js';
import type { Line, Word } from './control-word.js';
import { cubes, settingInWords } from './flag-settings.js';
import type { StepProgram } from './step-program.js';
import type { OpcodeRow } from './step-store.js';
import type { Step } from './step-words.js';

export interface StepCell {
  readonly opcode: number;
  readonly step: number;
  readonly setting: number;
}

/** The asserted lines by name, or what stands for none of them. */
export const wordInWords = ({ lines, pool }: StepProgram, word: Word): string => {
  if (word === pool.unsaid) return 'anything';
  return word.lines.length === 0 ? 'nothing' : word.lines.map((index) => lines[index]!.name).join(' ');
};

/** "`sample-vane` (opcode 3), step 2, dark=1 calm=0". */
export function cellInWords(program: StepProgram, rows: readonly OpcodeRow[], cell: StepCell): string {
  const row = rows[cell.opcode]!;
  const opcode = `${program.opcode.name} ${program.opcode.names.get(cell.opcode) ?? cell.opcode}`;
  const who = row.instruction === null ? `no instruction (${opcode})` : `${row.instruction.name} (${opcode})`;
  const part =
    cell.step < program.first.length
      ? ', as in every instruction'
      : cell.step >= row.written
        ? ', which is not used'
        : '';
  const flags = settingInWords(program.space, cell.setting);
  return `${who}, step ${cell.step}${part}${flags === '' ? '' : `, ${flags}`}`;
}

/**
 * Which lines differ in one cell, and what that does to buses and steps. Several lines of text. Lines that were not read
 * (another chip carries them) are taken to be as in `right`.
 */
export function differenceInWords(
  lines: readonly Line[],
  where: string,
  right: OutputValues,
  wanted: OutputValues,
  actual: OutputValues,
): string {
  const differing = lines.flatMap((line, i) =>
    wanted[i] !== undefined && actual[i] !== undefined && wanted[i] !== actual[i]
      ? [{ line, on: actual[i] === 1 }]
      : [],
  );
  const names = (on: boolean): string[] => differing.filter((d) => d.on === on).map((d) => `"${d.line.name}"`);
  const [missing, extra] = [names(false), names(true)];
  const text = [
    missing.length > 0 ? `${missing.join(', ')} should be on and ${missing.length > 1 ? 'are' : 'is'} off` : '',
    extra.length > 0 ? `${extra.join(', ')} should be off and ${extra.length > 1 ? 'are' : 'is'} on` : '',
  ].filter((t) => t !== '');
  const before = lines.filter((_, i) => right[i] === 1);
  const after = lines.filter((line, i) => differing.find((d) => d.line === line)?.on ?? right[i] === 1);
  const consequences = [...newBusFaults(before, after), ...stepConsequences(differing)];
  return [`${where}: ${text.join('; ')}.`, ...consequences.map((c) => `  So ${c}.`)].join('\n');
}

function newBusFaults(before: readonly Action[], after: readonly Action[]): string[] {
  const old = busFaults(before).map(busFaultInWords);
  return busFaults(after)
    .map(busFaultInWords)
    .filter((fault) => !old.includes(fault));
}

function stepConsequences(differing: readonly { line: Line; on: boolean }[]): string[] {
  const said = {
    restart: ['the instruction ends here', 'the instruction does not end here'],
    hold: ['the step is held', 'the step is not held'],
    stop: ['the machine stops here', 'the machine does not stop here'],
  } as const;
  return differing.flatMap(({ line, on }) => (line.steps === null ? [] : [said[line.steps][on ? 0 : 1]]));
}

/** Rows by instruction; the common first steps stand once, at the top. */
export function listSteps(program: StepProgram, rows: readonly OpcodeRow[]): readonly ListRow[] {
  const { first, instructions, opcode, step, unused } = program;
  const list: ListRow[] = [];
  const heading = (when: string): void => {
    list.push({ level: 0, when, does: '' });
  };
  const steps = (of: readonly Step[], from: number): void => {
    of.forEach((one, i) => {
      list.push(...stepRows(program, one, from + i));
    });
  };
  if (first.length > 0) {
    heading('every instruction');
    steps(first, 0);
  }
  for (const instruction of instructions) {
    heading(`${instruction.name} (${opcode.name} ${ranges(instruction.opcodes)})`);
    steps(instruction.steps, first.length);
    if (instruction.steps.length === 0) list.push({ level: 1, when: 'no steps of its own', does: 'nothing' });
  }
  const left = rows.flatMap((row, code) => (row.instruction === null ? [code] : []));
  if (left.length > 0) {
    heading(`no instruction (${opcode.name} ${ranges(left)})`);
    const does = unused.steps.length > 0 ? unused.says : wordInWords(program, unused.fill);
    list.push({ level: 1, when: `${step.name} ${first.length} and on`, does });
  }
  return list;
}

function stepRows(program: StepProgram, step: Step, number: number): ListRow[] {
  const { space, possible } = program;
  return [...new Set(step.words)].flatMap((word) => {
    const set = Uint8Array.from(step.words, (w) => (w === word ? 1 : 0));
    return cubes(space, set, possible).map((cube) => ({
      level: 1,
      when: [`${program.step.name} ${number}`, ...(cube.length > 0 ? [cube.join(' ')] : [])].join(', '),
      does: wordInWords(program, word),
    }));
  });
}

/** Rising numbers in few words: "3, 8..31". */
function ranges(numbers: readonly number[]): string {
  const parts: string[] = [];
  for (let i = 0; i < numbers.length; ) {
    let end = i;
    while (numbers[end + 1] === numbers[end]! + 1) end++;
    parts.push(end === i ? `${numbers[i]}` : `${numbers[i]}..${numbers[end]}`);
    i = end + 1;
  }
  return parts.join(', ');
}
