// The kind of contents `control-by-step`: control lines by opcode, step and flags.
import * as v from 'valibot';
import { isMap } from '../schema-mistake.js';
import { readable, widthSchema } from '../schema-words.js';
import { isAt } from '../sound-part.js';
import type { Compiled, ContentsKind, Fields, Finding } from '../table.js';
import { cellInWords, differenceInWords, listSteps, type StepCell, wordInWords } from './step-explanation.js';
import { stepFindings } from './step-findings.js';
import { compileProgram } from './step-program.js';
import { type StepContents, stepSchema } from './step-schema.js';
import { layOut } from './step-store.js';

/**
 * Control store by opcode, step and flags. Inputs of its table: the opcode field, the step field, the flags in the order
 * of `flags`. Outputs: the lines, in the order of `lines`.
 */
export const controlByStep: ContentsKind<StepContents> = {
  kind: 'control-by-step',
  schema: stepSchema,
  forgiving: { leaveOut: ['about', 'unused'], standIns: { first: '', instructions: { opcode: [], steps: [] } } },
  outputsOf: ({ lines }) =>
    isMap(lines)
      ? new Map(Object.entries(lines).map(([name, spec]) => [name, readable(width, spec)?.bits ?? 1]))
      : null,
  compile: compileControlByStep,
};

/** Of a line that may be wrong elsewhere. */
const width = v.object({ bits: widthSchema });

/** The mistyped name may be that of the line which ends the instruction. */
const hangsOnAnUnknownLine = ({ code, path }: Finding, compiled: readonly Finding[]): boolean =>
  ['instruction.never-ends', 'instruction.wraps'].includes(code) &&
  compiled.some((f) => f.code === 'line.unknown' && isAt(f.path, [path]));

function compileControlByStep(contents: StepContents, fields: Fields): Compiled {
  const { program, findings } = compileProgram(contents, fields);
  if (program === null) return { table: null, findings };
  const { opcode, step, space, lines } = program;
  const rows = layOut(program);
  const cellOf = (inputs: readonly number[]): StepCell => {
    let setting = 0;
    for (let i = 0; i < space.flags.length; i++) setting |= inputs[i + 2]! << space.flags[i]!.shift;
    return { opcode: inputs[0]!, step: inputs[1]!, setting };
  };
  const wordAt = (cell: StepCell) => rows[cell.opcode]!.words[cell.step]![cell.setting]!;
  return {
    findings,
    table: {
      inputs: new Map([opcode, step, ...space.flags].map((field) => [field.name, field.bits])),
      outputs: new Map(lines.map((line) => [line.name, line.bits])),
      activeLow: new Set(lines.filter((line) => line.activeLow).map((line) => line.name)),
      at: (inputs) => wordAt(cellOf(inputs)).values,
      explain: (inputs) => {
        const cell = cellOf(inputs);
        return `${cellInWords(program, rows, cell)}: ${wordInWords(program, wordAt(cell))}`;
      },
      explainDifference: (inputs, wanted, actual) => {
        const cell = cellOf(inputs);
        return differenceInWords(lines, cellInWords(program, rows, cell), wordAt(cell).values, wanted, actual);
      },
      findings: () => stepFindings(program).filter((f) => !hangsOnAnUnknownLine(f, findings)),
      list: () => listSteps(program, rows),
      namesIn: (field) =>
        field === opcode.name
          ? program.instructions.flatMap((i) => i.opcodes.map((code) => [code, i.name] as const))
          : [],
    },
  };
}
