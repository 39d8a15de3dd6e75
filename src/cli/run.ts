// The whole command line as one function: arguments and a world in, an exit number out.
import { ToolError, ToolErrors } from '../ground/errors.js';
import { exit } from '../ground/exit.js';
import { nearNames } from '../ground/near-names.js';
import type { CommandRow } from './command.js';
import { commandTable } from './command-table.js';
import { guardedOutputs } from './outputs.js';
import { safeWorld } from './safe-output.js';
import { sortWords } from './words.js';
import type { World } from './world.js';

const version = '0.1.0';

function unknownCommand(name: string): ToolError {
  const names = commandTable.map((c) => c.name);
  return new ToolError('cli.unknown-command', { name, near: nearNames(name, names) });
}

async function runCommand(row: CommandRow, words: readonly string[], world: World): Promise<number> {
  const { operands, options, asksForHelp, wrong } = sortWords(row, words);
  if (asksForHelp) {
    const { commandHelp } = await import('./help-page.js');
    world.stdout.write(commandHelp(row, await row.loadTable?.(), world.stdout.columns));
    return exit.done;
  }
  if (wrong.length > 0) throw new ToolErrors(wrong);
  const { world: guarded, outputsOf } = guardedOutputs(world);
  const outputs = outputsOf(options.overwrite === true);
  return (await row.load()).execute({ world: guarded, command: row.name, operands, options, outputs });
}

/** No command is named: only the program's own options are left. */
async function runProgram(words: readonly string[], world: World): Promise<number> {
  if (words.includes('-V') || words.includes('--version')) {
    world.stdout.write(`${version}\n`);
    return exit.done;
  }
  const isAsked = words.includes('-h') || words.includes('--help');
  const stray = isAsked ? undefined : words.find((word) => word.startsWith('-') && word !== '--json');
  if (stray !== undefined)
    throw new ToolError('cli.unknown-option', { command: 'romkiln', option: stray.split('=')[0]!, near: ['--help'] });
  const { programHelp } = await import('./help-page.js');
  world.stdout.write(programHelp(commandTable, world.stdout.columns));
  return isAsked ? exit.done : exit.usage;
}

/**
 * Runs one command. `argv` holds the words after the program's name. Never throws; every outcome is a number
 * from the exit table, and what a person needs to know has been written to the world's outputs.
 */
export async function run(argv: readonly string[], outside: World): Promise<number> {
  const wantsJson = argv.includes('--json');
  const world = safeWorld(outside, wantsJson);
  const at = argv.findIndex((word) => word === '--' || !word.startsWith('-'));
  const command = argv[at] === '--' ? '' : (argv[at] ?? '');
  try {
    if (command === '') return await runProgram(argv, world);
    const row = commandTable.find(({ name }) => name === command);
    // Said before its options, which are those of the command that was meant.
    if (!row) throw unknownCommand(command);
    return await runCommand(row, [...argv.slice(0, at), ...argv.slice(at + 1)], world);
  } catch (error) {
    const { sayErrors } = await import('./error-text.js');
    return sayErrors(error, world, { json: wantsJson, command });
  }
}
