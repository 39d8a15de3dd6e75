// The words of a command line, sorted into options and operands by the row of their command.
import { ToolError } from '../ground/errors.js';
import { nearNames } from '../ground/near-names.js';
import type { CommandRow, OptionRow, OptionValues } from './command.js';

/** `--output` of `-o, --output <file>`. */
const optionName = (flags: string): string => /--[a-z-]+/.exec(flags)![0];
const shortName = (flags: string): string | null => /^-[a-z]\b/i.exec(flags)?.[0] ?? null;
const takesValue = ({ flags }: OptionRow): boolean => flags.includes('<');
const operandName = (operand: string): string => operand.replace(/^[<[]|[>\]]$/g, '').replace(/\.\.\.$/, '');
const usageOf = (row: CommandRow): string => ['romkiln', row.name, ...row.operands, '[options]'].join(' ');
/** `dryRun` of `--dry-run`. */
const keyOf = (name: string): string => name.slice(2).replace(/-(.)/g, (_, letter: string) => letter.toUpperCase());

export interface SortedWords {
  readonly operands: readonly string[];
  readonly options: OptionValues;
  readonly asksForHelp: boolean;
  /** Everything wrong with the words, found before anything is done. */
  readonly wrong: readonly ToolError[];
}

/** A negative number is an operand, and so is a dash alone. */
const isOption = (word: string): boolean => /^--?[A-Za-z]/.test(word);

interface Split {
  readonly name: string;
  /** What stands in the same word: `--rate=9600`, `-ofile`. */
  readonly value: string | null;
}

function split(word: string, rows: readonly OptionRow[]): Split {
  if (word.startsWith('--')) {
    const equals = word.indexOf('=');
    return equals < 0 ? { name: word, value: null } : { name: word.slice(0, equals), value: word.slice(equals + 1) };
  }
  const row = rows.find(({ flags }) => shortName(flags) === word.slice(0, 2));
  if (!row || (word.length > 2 && !takesValue(row))) return { name: word.split('=')[0]!, value: null };
  return { name: optionName(row.flags), value: word.length > 2 ? word.slice(2) : null };
}

/** `words` are those behind the command's name. After `--` everything is an operand. */
export function sortWords(row: CommandRow, words: readonly string[]): SortedWords {
  const operands: string[] = [];
  const values = new Map<OptionRow, string[]>();
  const wrong: ToolError[] = [];
  let asksForHelp = false;
  const known = row.options.map(({ flags }) => optionName(flags));
  for (let k = 0; k < words.length; k++) {
    const word = words[k]!;
    if (word === '--') {
      operands.push(...words.slice(k + 1));
      break;
    }
    if (!isOption(word)) operands.push(word);
    else if (word === '-h' || word === '--help') asksForHelp = true;
    else {
      const { name, value } = split(word, row.options);
      const option = row.options.find(({ flags }) => optionName(flags) === name);
      if (!option || (value !== null && !takesValue(option)))
        wrong.push(
          new ToolError('cli.unknown-option', { command: row.name, option: name, near: nearNames(name, known) }),
        );
      else if (!takesValue(option)) values.set(option, []);
      else {
        const given = value ?? words[++k];
        if (given === undefined) wrong.push(new ToolError('cli.missing-value', { option: name, flags: option.flags }));
        else values.set(option, [...(values.get(option) ?? []), given]);
      }
    }
  }
  const options = Object.fromEntries(
    [...values].map(([option, all]) => {
      const value = !takesValue(option) ? true : option.many ? all : all.at(-1);
      return [keyOf(optionName(option.flags)), value];
    }),
  );
  wrong.push(...complaints(row, operands, values));
  if (wrong.length === 0) wrong.push(...idleWords(row, operands, options));
  return { operands, options, asksForHelp, wrong };
}

function complaints(
  row: CommandRow,
  operands: readonly string[],
  values: ReadonlyMap<OptionRow, readonly string[]>,
): ToolError[] {
  const command = row.name;
  const found: ToolError[] = [];
  for (const [{ flags, many }, all] of values) {
    const option = optionName(flags);
    if (all.length > 1 && !many) found.push(new ToolError('cli.option-twice', { command, option, values: all }));
    // So comes a variable of a script that is not set; it must not pass for an option that is not there.
    if (all.includes('')) found.push(new ToolError('cli.empty-value', { option, flags }));
  }
  if (!row.operands.some((o) => o.includes('...'))) {
    for (const argument of operands.slice(row.operands.length))
      found.push(new ToolError('cli.surplus-argument', { command, argument, usage: usageOf(row) }));
  }
  row.operands.forEach((operand, index) => {
    if (operand.startsWith('<') && !operands[index])
      found.push(
        new ToolError('cli.missing-argument', { command, argument: operandName(operand), usage: usageOf(row) }),
      );
  });
  return found;
}

function idleWords(row: CommandRow, operands: readonly string[], options: OptionValues): ToolError[] {
  return (row.idle?.(operands, options) ?? []).map(({ action, word, right }) => {
    const use = action === undefined ? row.name : `${row.name} ${action}`;
    return new ToolError('cli.idle-word', { use, word, right: right.replace('{}', row.name) });
  });
}
