// Everything wrong with the words of a command, found before anything is done.
import { ToolError } from '../ground/errors.js';
import { nearNames } from '../ground/near-names.js';
import type { CommandRow, OptionRow } from './command.js';
import { optionName, type SortedWords } from './command-line.js';

const operandName = (operand: string): string => operand.replace(/^[<[]|[>\]]$/g, '').replace(/\.\.\.$/, '');
const usageOf = (row: CommandRow): string => ['romkiln', row.name, ...row.operands, '[options]'].join(' ');

function ofOption(command: string, { flags, many, longest }: OptionRow, all: readonly string[]): ToolError[] {
  const option = optionName(flags);
  const found: ToolError[] = [];
  if (all.length > 1 && !many) found.push(new ToolError('cli.option-twice', { command, option, values: all }));
  for (const { length } of all)
    if (longest !== undefined && length > longest)
      found.push(new ToolError('cli.value-too-long', { option, length, longest }));
  // So comes a variable of a script that is not set; it must not pass for an option that is not there.
  if (all.includes('')) found.push(new ToolError('cli.empty-value', { option, flags }));
  return found;
}

function ofOperands(row: CommandRow, operands: readonly string[]): ToolError[] {
  const [command, usage] = [row.name, usageOf(row)];
  const surplus = row.operands.some((o) => o.includes('...')) ? [] : operands.slice(row.operands.length);
  const missing = row.operands.filter((operand, index) => operand.startsWith('<') && !operands[index]);
  return [
    ...surplus.map((argument) => new ToolError('cli.surplus-argument', { command, argument, usage })),
    ...missing.map(
      (operand) => new ToolError('cli.missing-argument', { command, argument: operandName(operand), usage }),
    ),
  ];
}

const ofIdleWords = (row: CommandRow, { operands, options }: SortedWords): ToolError[] =>
  (row.idle?.(operands, options) ?? []).map(({ action, word, right }) => {
    const use = action === undefined ? row.name : `${row.name} ${action}`;
    return new ToolError('cli.idle-word', { use, word, right: right.replace('{}', row.name) });
  });

export function complaints(row: CommandRow, words: SortedWords): ToolError[] {
  const known = row.options.map(({ flags }) => optionName(flags));
  const found = [
    ...words.strays.map(
      (option) => new ToolError('cli.unknown-option', { command: row.name, option, near: nearNames(option, known) }),
    ),
    ...row.options.flatMap((option) => ofOption(row.name, option, words.values.get(optionName(option.flags)) ?? [])),
    ...ofOperands(row, words.operands),
  ];
  return found.length > 0 ? found : ofIdleWords(row, words);
}
