// Commander at work: sorts the words of one command, and shows help and the version.
import { Command, CommanderError } from 'commander';
import { ToolError } from '../ground/errors.js';
import { columns } from '../report/columns.js';
import type { CommandRow, HelpTable, OptionValues } from './command.js';
import type { World } from './world.js';

const version = '0.1.0';
const about = 'Describe, build, burn, read back and diagnose the lookup ROMs of bench-built digital logic.';
const ending = `
Exit: 0 done or the same, 1 differences found, 2 cannot be done as asked, 3 no conversation with the
writer, 4 the writer or the chip refused, 70 a fault of ours, 130 interrupted.
"romkiln <command> --help" says more about one command.`;

/** `--output` of `-o, --output <file>`. */
export const optionName = (flags: string): string => /--[a-z-]+/.exec(flags)![0];
const takesValue = (flags: string): boolean => flags.includes('<');

/** The words of a command, sorted. */
export interface SortedWords {
  readonly operands: readonly string[];
  readonly options: OptionValues;
  /** Options that the command does not have. */
  readonly strays: readonly string[];
  /** Every value of each option that takes one, in the order of the command line. */
  readonly values: ReadonlyMap<string, readonly string[]>;
}

/** Commander keeps what it does not know among the operands; a negative number is an operand. */
const isStray = (word: string): boolean => /^--?[A-Za-z]/.test(word);
const withoutValue = (word: string): string => word.split('=')[0]!;

/** Stops at the first thing that commander itself would say, and throws it. What is wrong with the words is for us to say, all at once. */
const newCommand = (name: string, { stdout }: World): Command =>
  new Command(name)
    .helpOption('-h, --help', 'show this help')
    .helpCommand(false)
    .allowUnknownOption()
    .allowExcessArguments()
    .argument('[words...]')
    .exitOverride()
    .configureOutput({
      writeOut: (text) => stdout.write(text),
      writeErr: () => {},
      getOutHelpWidth: () => stdout.columns,
    });

/** False where commander has shown help or the version instead. */
function parses(command: Command, words: readonly string[]): boolean {
  try {
    command.parse(words, { from: 'user' });
    return true;
  } catch (error) {
    if (error instanceof CommanderError && error.exitCode === 0) return false;
    throw error;
  }
}

/** Where a value is missing, the last word is the option that wants it. */
function missingValue(row: CommandRow, words: readonly string[], error: unknown): unknown {
  if (!(error instanceof CommanderError)) return error;
  const option = words.at(-1)!;
  const flags = row.options.find((o) => o.flags.split(/[ ,]+/).includes(option))?.flags ?? option;
  return new ToolError('cli.missing-value', { option, flags });
}

/** Sorts the words behind a command's name; null where they ask for its help, which is shown then. */
export function sortWords(
  row: CommandRow,
  words: readonly string[],
  table: HelpTable | undefined,
  world: World,
): SortedWords | null {
  const command = newCommand(`romkiln ${row.name}`, world)
    .description(`${row.summary[0]!.toUpperCase()}${row.summary.slice(1)}.`)
    .usage([...row.operands, '[options]'].join(' '));
  const values = new Map<string, readonly string[]>();
  for (const { flags, help, many } of row.options) {
    if (!takesValue(flags)) command.option(flags, help);
    else
      command.option(flags, help, (value: string) => {
        const name = optionName(flags);
        const all = [...(values.get(name) ?? []), value];
        values.set(name, all);
        return many ? all : value;
      });
  }
  if (row.examples) command.addHelpText('after', `\nExamples:\n${row.examples.map((e) => `  ${e}`).join('\n')}`);
  if (table) command.addHelpText('after', `\n${columns(table.heading, table.rows).trimEnd()}`);
  // After "--" a word is an operand, whatever it begins with.
  const end = words.includes('--') ? words.indexOf('--') : words.length;
  const sorted = words.slice(0, end);
  try {
    if (!parses(command, sorted)) return null;
  } catch (error) {
    throw missingValue(row, sorted, error);
  }
  return {
    operands: [...command.args.filter((word) => !isStray(word)), ...words.slice(end + 1)],
    options: command.opts(),
    strays: command.args.filter(isStray).map(withoutValue),
    values,
  };
}

/** No command is named: shows what there is. False where nobody asked for that. */
export function showProgram(commands: readonly CommandRow[], words: readonly string[], world: World): boolean {
  const program = newCommand('romkiln', world)
    .description(about)
    .version(version)
    .usage('<command> [options]')
    .configureHelp({ subcommandTerm: (command) => command.name() })
    .addHelpText('after', ending)
    .action(() => {});
  for (const { name, summary } of commands) program.command(name).summary(summary);
  if (!parses(program, words)) return true;
  const stray = program.args.find((word) => isStray(word) && word !== '--json');
  if (stray !== undefined)
    throw new ToolError('cli.unknown-option', { command: 'romkiln', option: withoutValue(stray), near: ['--help'] });
  program.outputHelp();
  return false;
}
