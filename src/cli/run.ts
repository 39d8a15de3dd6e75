// The whole command line as one function: arguments and a world in, an exit number out.
import { createRequire } from 'node:module';
import type { Command } from 'commander';
import { ToolError, ToolErrors } from '../ground/errors.js';
import { nearNames } from '../ground/near-names.js';
import { columns } from '../report/columns.js';
import type { CommandRow, HelpTable, Invocation, OptionValues } from './command.js';
import { commandTable } from './command-table.js';
import { guardedOutputs } from './outputs.js';
import { safeWorld } from './safe-output.js';
import type { World } from './world.js';

// Required, not imported: for an import Node first searches the package's text for its exports, a tenth of the start-up (measured).
const commander = createRequire(import.meta.url)('commander') as typeof import('commander');

const operandName = (operand: string): string => operand.replace(/^[<[]|[>\]]$/g, '').replace(/\.\.\.$/, '');
/** `--output` of `-o, --output <file>`. */
const optionName = (flags: string): string => /--[a-z-]+/.exec(flags)![0];
/** `-o, --output <file>` of `--output`. */
const flagsOf = (row: CommandRow, option: string): string =>
  row.options.find(({ flags }) => optionName(flags) === option)!.flags;
const usageOf = (row: CommandRow): string => ['romkiln', row.name, ...row.operands, '[options]'].join(' ');

/** The words of a command, sorted. */
interface Words {
  readonly operands: readonly string[];
  readonly options: OptionValues;
  /** Options that the command does not have. */
  readonly strays: readonly string[];
  /** Every value of each option that takes one, in the order of the command line. */
  readonly values: ReadonlyMap<string, readonly string[]>;
}

/** Everything wrong with the words of a command, found before anything is done. */
function complaints(row: CommandRow, { operands, options, strays, values }: Words): ToolError[] {
  const command = row.name;
  const known = row.options.map(({ flags }) => optionName(flags));
  const found: ToolError[] = strays.map(
    (option) => new ToolError('cli.unknown-option', { command, option, near: nearNames(option, known) }),
  );
  const often = new Set(row.options.flatMap(({ flags, many }) => (many ? optionName(flags) : [])));
  for (const [option, all] of values) {
    if (all.length > 1 && !often.has(option))
      found.push(new ToolError('cli.option-twice', { command, option, values: all }));
    // So comes a variable of a script that is not set; it must not pass for an option that is not there.
    const longest = row.options.find(({ flags }) => optionName(flags) === option)?.longest ?? Number.POSITIVE_INFINITY;
    for (const { length } of all)
      if (length > longest) found.push(new ToolError('cli.value-too-long', { option, length, longest }));
    if (all.includes('')) found.push(new ToolError('cli.empty-value', { option, flags: flagsOf(row, option) }));
  }
  const many = row.operands.some((o) => o.includes('...'));
  if (!many) {
    for (const argument of operands.slice(row.operands.length))
      found.push(new ToolError('cli.surplus-argument', { command, argument, usage: usageOf(row) }));
  }
  row.operands.forEach((operand, index) => {
    if (operand.startsWith('<') && !operands[index])
      found.push(
        new ToolError('cli.missing-argument', { command, argument: operandName(operand), usage: usageOf(row) }),
      );
  });
  for (const { action, word, right } of found.length > 0 ? [] : (row.idle?.(operands, options) ?? [])) {
    const use = action === undefined ? command : `${command} ${action}`;
    found.push(new ToolError('cli.idle-word', { use, word, right: right.replace('{}', command) }));
  }
  return found;
}

/** Commander keeps what it does not know among the operands; a negative number is an operand. */
const isStray = (word: string): boolean => /^--?[A-Za-z]/.test(word);

/** What is known of the command line beside commander. */
interface Given {
  readonly table: HelpTable | undefined;
  /** The words after `--`, whatever they begin with. */
  readonly plain: readonly string[];
}

type Use = (run: () => Promise<number>) => void;

/** Names a command, for the list of all of them. */
const listCommand = (program: Command, row: CommandRow): Command => program.command(row.name).summary(row.summary);

/** Makes a command one that can be run, with its options and its own help. */
function addCommand(program: Command, row: CommandRow, { table, plain }: Given, use: Use, world: World): void {
  const command = listCommand(program, row)
    .description(`${row.summary[0]!.toUpperCase()}${row.summary.slice(1)}.`)
    .usage(row.operands.concat('[options]').join(' '))
    .allowUnknownOption(true)
    .allowExcessArguments(true)
    .argument('[words...]');
  const values = new Map<string, readonly string[]>();
  for (const { flags, help, many } of row.options) {
    const name = optionName(flags);
    if (!flags.includes('<')) command.option(flags, help);
    else
      command.option(flags, help, (value: string) => {
        const all = [...(values.get(name) ?? []), value];
        values.set(name, all);
        return many ? all : value;
      });
  }
  if (row.examples) command.addHelpText('after', `\nExamples:\n${row.examples.map((e) => `  ${e}`).join('\n')}`);
  if (table) command.addHelpText('after', `\n${columns(table.heading, table.rows).trimEnd()}`);
  command.action((words: string[]) => {
    use(async () => {
      const strays = words.filter(isStray).map((s) => s.split('=')[0]!);
      const operands = [...words.filter((w) => !isStray(w)), ...plain];
      const options: OptionValues = command.opts();
      const wrong = complaints(row, { operands, options, strays, values });
      if (wrong.length > 0) throw new ToolErrors(wrong);
      const { world: guarded, outputsOf } = guardedOutputs(world);
      const outputs = outputsOf(options.overwrite === true);
      const invocation: Invocation = { world: guarded, command: row.name, operands, options, outputs };
      return (await row.load()).execute(invocation);
    });
  });
}

/** `named` is the command that the words ask for; the others are only listed, which is much less work at start-up. */
function commandLine(world: World, named: string, given: Given, use: Use): Command {
  const program = new commander.Command('romkiln')
    .description('Describe, build, burn, read back and diagnose the lookup ROMs of bench-built digital logic.')
    .version('0.1.0')
    .helpOption('-h, --help', 'show this help')
    .helpCommand(false)
    .allowExcessArguments(true)
    .usage('<command> [options]')
    .configureHelp({ subcommandTerm: (command) => command.name() })
    .exitOverride()
    .configureOutput({
      writeOut: (text) => world.stdout.write(text),
      writeErr: () => {},
      getOutHelpWidth: () => world.stdout.columns,
    })
    .addHelpText(
      'after',
      '\nExit: 0 done or the same, 1 differences found, 2 cannot be done as asked, 3 no conversation with the\nwriter, 4 the writer or the chip refused, 70 a fault of ours, 130 interrupted.\n"romkiln <command> --help" says more about one command.',
    );
  for (const row of commandTable) {
    if (row.name === named) addCommand(program, row, given, use, world);
    else listCommand(program, row);
  }
  program.action(() => {
    use(async () => {
      world.stdout.write(program.helpInformation());
      return 2;
    });
  });
  return program;
}

const unknownCommand = (name: string): ToolError =>
  new ToolError('cli.unknown-command', {
    name,
    near: nearNames(
      name,
      commandTable.map((c) => c.name),
    ),
  });

/**
 * Runs one command. `argv` holds the words after the program's name. Never throws; every outcome is a number
 * from the exit table, and what a person needs to know has been written to the world's outputs.
 */
export async function run(argv: readonly string[], outside: World): Promise<number> {
  const wantsJson = argv.includes('--json');
  const world = safeWorld(outside, wantsJson);
  const end = argv.includes('--') ? argv.indexOf('--') : argv.length;
  const [words, plain] = [argv.slice(0, end), argv.slice(end + 1)];
  const named = words.find((a) => !a.startsWith('-')) ?? '';
  let chosen: (() => Promise<number>) | null = null;
  try {
    const row = commandTable.find((r) => r.name === named);
    // Said before its options, which are those of the command that was meant.
    if (named !== '' && !row) throw unknownCommand(named);
    const table = await row?.loadTable?.();
    commandLine(world, named, { table, plain }, (action) => {
      chosen = action;
    }).parse(words, { from: 'user' });
    return chosen === null ? 0 : await (chosen as () => Promise<number>)();
  } catch (error) {
    if (error instanceof commander.CommanderError && error.exitCode === 0) return 0;
    const { sayErrors } = await import('./error-text.js');
    return sayErrors(error, world, { json: wantsJson, command: named });
  }
}
