// The whole command line as one function: arguments and a world in, an exit number out.
import { ToolError, ToolErrors } from '../ground/errors.js';
import { exit } from '../ground/exit.js';
import { nearNames } from '../ground/near-names.js';
import type { CommandRow, HelpTable } from './command.js';
import { showProgram, sortWords } from './command-line.js';
import { commandTable } from './command-table.js';
import { complaints } from './complaints.js';
import { guardedOutputs } from './outputs.js';
import { safeWorld } from './safe-output.js';
import type { World } from './world.js';

function unknownCommand(name: string): ToolError {
  const names = commandTable.map((c) => c.name);
  return new ToolError('cli.unknown-command', { name, near: nearNames(name, names) });
}

/** Loaded only where it is shown. */
const helpTable = (row: CommandRow, words: readonly string[]): Promise<HelpTable> | undefined =>
  words.includes('-h') || words.includes('--help') ? row.loadTable?.() : undefined;

async function runCommand(row: CommandRow, words: readonly string[], world: World): Promise<number> {
  const sorted = sortWords(row, words, await helpTable(row, words), world);
  if (sorted === null) return exit.done;
  const wrong = complaints(row, sorted);
  if (wrong.length > 0) throw new ToolErrors(wrong);
  const { operands, options } = sorted;
  const { world: guarded, outputsOf } = guardedOutputs(world);
  const outputs = outputsOf(options.overwrite === true);
  return (await row.load()).execute({ world: guarded, command: row.name, operands, options, outputs });
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
  const [before, behind] = at < 0 ? [argv, []] : [argv.slice(0, at), argv.slice(at + 1)];
  try {
    if (command === '') return showProgram(commandTable, before, world) ? exit.done : exit.usage;
    const row = commandTable.find(({ name }) => name === command);
    // Said before its options, which are those of the command that was meant.
    if (!row) throw unknownCommand(command);
    return await runCommand(row, [...before, ...behind], world);
  } catch (error) {
    const { sayErrors } = await import('./error-text.js');
    return sayErrors(error, world, { json: wantsJson, command });
  }
}
