// A control store by step in the builder's words: one cell, one difference, the whole table.
import type { Field, ListRow, OutputValues } from '../table.js';
import { everyValue, numberOfBits } from '../value-range.js';
import { type Action, busFaultInWords, busFaults } from './bus-traffic.js';
import { isLine, settingInWords } from './coded-output.js';
import { actionsAt, type Line, type LineAction, type Word } from './control-word.js';
import { cubes, settingInWords as flagsInWords } from './flag-settings.js';
import type { StepProgram } from './step-program.js';
import type { OpcodeRow } from './step-store.js';
import type { Step } from './step-words.js';

export interface StepCell {
  readonly opcode: number;
  readonly step: number;
  readonly setting: number;
}

/** The lines that are not at rest, or what stands for none of them. */
export const wordInWords = ({ lines, pool }: StepProgram, word: Word): string => {
  if (word === pool.unsaid) return 'anything';
  const said = word.lines.map((index) => settingInWords(lines[index]!, word.values[index]!));
  return said.length === 0 ? 'nothing' : said.join(' ');
};

/** "`sample-vane` (opcode 3), step 2, dark=1 calm=0". */
export function cellInWords(program: StepProgram, rows: readonly OpcodeRow[], cell: StepCell): string {
  const row = rows[cell.opcode]!;
  const opcode = `${program.opcode.name} ${program.opcode.names.get(cell.opcode) ?? numberOfBits(program.opcode, cell.opcode)}`;
  const who = row.instruction === null ? `no instruction (${opcode})` : `${row.instruction.name} (${opcode})`;
  const part =
    cell.step < program.first.length
      ? ', as in every instruction'
      : cell.step >= row.written
        ? ', which is not used'
        : '';
  const flags = flagsInWords(program.space, cell.setting);
  return `${who}, step ${cell.step}${part}${flags === '' ? '' : `, ${flags}`}`;
}

/**
 * Which lines differ in one cell, and what that does to buses and steps. Several lines of text. `wanted` and `actual` may
 * carry only some bits of a line; what was not read (another chip carries it) is taken to be as in `right`.
 */
export function differenceInWords(
  lines: readonly Line[],
  where: string,
  right: OutputValues,
  wanted: OutputValues,
  actual: OutputValues,
): string {
  const should = lines.map((_, i) => right[i] ?? wanted[i] ?? 0);
  const is = lines.map((_, i) => {
    const [want, found] = [wanted[i], actual[i]];
    return want === undefined || found === undefined ? should[i]! : should[i]! ^ want ^ found;
  });
  const differing = [...lines.keys()].filter((i) => is[i] !== should[i]);
  const plain = (on: 0 | 1): string[] =>
    differing.filter((i) => isLine(lines[i]!) && is[i] === on).map((i) => `"${lines[i]!.name}"`);
  const [missing, extra] = [plain(0), plain(1)];
  const text = [
    missing.length > 0 ? `${missing.join(', ')} should be on and ${missing.length > 1 ? 'are' : 'is'} off` : '',
    extra.length > 0 ? `${extra.join(', ')} should be off and ${extra.length > 1 ? 'are' : 'is'} on` : '',
    ...differing
      .map((i) => lines[i]!)
      .filter((line) => !isLine(line))
      .map((line) => {
        const [want, found] = [should, is].map((values) => settingInWords(line, values[lines.indexOf(line)]!));
        return `${want} is wanted, ${found} is there`;
      }),
  ].filter((t) => t !== '');
  const [before, after] = [actionsAt(lines, should), actionsAt(lines, is)];
  const consequences = [...newBusFaults(before, after), ...stepConsequences(before, after)];
  return [`${where}: ${text.join('; ')}.`, ...consequences.map((c) => `  So ${c}.`)].join('\n');
}

function newBusFaults(before: readonly Action[], after: readonly Action[]): string[] {
  const old = busFaults(before).map(busFaultInWords);
  return busFaults(after)
    .map(busFaultInWords)
    .filter((fault) => !old.includes(fault));
}

function stepConsequences(before: readonly LineAction[], after: readonly LineAction[]): string[] {
  const said = {
    restart: ['the instruction ends here', 'the instruction does not end here'],
    hold: ['the step is held', 'the step is not held'],
    stop: ['the machine stops here', 'the machine does not stop here'],
  } as const;
  return (['restart', 'hold', 'stop'] as const).flatMap((effect) => {
    const [was, is] = [before, after].map((actions) => actions.some(({ steps }) => steps === effect));
    return was === is ? [] : [said[effect][is ? 0 : 1]];
  });
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
    heading(`${instruction.name} (${opcode.name} ${ranges(opcode, instruction.opcodes)})`);
    steps(instruction.steps, first.length);
    if (instruction.steps.length === 0) list.push({ level: 1, when: 'no steps of its own', does: 'nothing' });
  }
  const left = everyValue(opcode).filter((code) => rows[code]!.instruction === null);
  if (left.length > 0) {
    heading(`no instruction (${opcode.name} ${ranges(opcode, left)})`);
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

/** Values of a field in few words: "3, 8..31". */
function ranges(field: Field, values: readonly number[]): string {
  const numbers = values.map((value) => numberOfBits(field, value));
  const parts: string[] = [];
  for (let i = 0; i < numbers.length; ) {
    let end = i;
    while (numbers[end + 1] === numbers[end]! + 1) end++;
    parts.push(end === i ? `${numbers[i]}` : `${numbers[i]}..${numbers[end]}`);
    i = end + 1;
  }
  return parts.join(', ');
}
