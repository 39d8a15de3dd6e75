// Which port a command talks to, and opening it: a real one, or the emulated bench from its file.

import { findPart } from '../chip/chip-table.js';
import type { Part } from '../chip/part.js';
import type { EmulatedBench } from '../emulator/emulated-bench.js';
import { ToolError } from '../ground/errors.js';
import type { Link, LinkOptions } from '../link/link.js';
import { type OptionValues, textOption } from './command.js';
import type { World } from './world.js';

/** A port as chosen, before it is opened. */
export interface ChosenPort {
  readonly path: string;
  /** The bench file where the port is the emulated bench; null for a real port. */
  readonly benchFile: string | null;
}

export interface OpenedPort {
  readonly link: Link;
  /** Null for a real port. */
  readonly bench: EmulatedBench | null;
}

// A path may hold any character, a line end too.
const emulated = /^emulated(?::(.*))?$/s;

/** Null for a real port. Throws cli.no-bench-file. */
export const benchFileOf = (path: string, world: World): string | null => {
  const match = emulated.exec(path);
  if (!match) return null;
  const [, file] = match;
  if (file === '') throw new ToolError('cli.no-bench-file', { port: path });
  return file ?? `${world.dataFolder}/bench.json`;
};

/** --port, else ROMKILN_PORT, else the only port there is. Two ports are never guessed between. */
export async function choosePort(world: World, options: OptionValues): Promise<ChosenPort> {
  const named = textOption(options, 'port') ?? world.environment.ROMKILN_PORT;
  if (named) return { path: named, benchFile: benchFileOf(named, world) };
  const ports = (await world.listPorts()).map((p) => p.path);
  if (ports.length > 1) throw new ToolError('cli.which-port', { ports });
  if (ports.length === 0) throw new ToolError('cli.no-port', {});
  return { path: ports[0]!, benchFile: null };
}

/** The part named by --chip or ROMKILN_CHIP, else null. */
export function namedPart(world: World, options: OptionValues): Part | null {
  const name = textOption(options, 'chip') ?? world.environment.ROMKILN_CHIP;
  return name ? findPart(name) : null;
}

/** The bench of a file; the default bench is made on first use, from the part that was asked for. */
async function benchOf(
  world: World,
  port: ChosenPort,
  part: Part | null,
  say: (text: string) => void,
): Promise<EmulatedBench> {
  const path = port.benchFile!;
  const { EmulatedBench } = await import('../emulator/emulated-bench.js');
  const { readBenchState, saveBenchState } = await import('../emulator/bench-file.js');
  if (port.path !== 'emulated' || world.files.readIfThere(path) !== null) {
    const state = readBenchState(world.files, path);
    return new EmulatedBench({
      state,
      firmware: world.firmwareHex(),
      path: port.path,
      save: (s) => saveBenchState(world.files, path, s),
    });
  }
  if (part === null)
    throw new ToolError('cli.missing-option', {
      command: 'emulated',
      option: '--chip <part>',
      why: 'the emulated bench is made on first use and needs a chip.',
    });
  const { newBenchState } = await import('../emulator/bench-state.js');
  const state = newBenchState({ part });
  world.files.makeFolder(world.dataFolder);
  saveBenchState(world.files, path, state);
  say(`A new emulated bench with an ${state.part.name}, all cells FF, is kept in ${path}.`);
  return new EmulatedBench({
    state,
    firmware: world.firmwareHex(),
    path: port.path,
    save: (s) => saveBenchState(world.files, path, s),
  });
}

/** The part that is seated on the bench of a file; null for a real port, or a bench that is not made yet. */
export async function seatedPart(world: World, port: ChosenPort): Promise<Part | null> {
  if (port.benchFile === null || (port.path === 'emulated' && world.files.readIfThere(port.benchFile) === null))
    return null;
  const { readBenchState } = await import('../emulator/bench-file.js');
  return readBenchState(world.files, port.benchFile).part;
}

/** Opens the port at the greeting's rate. */
export async function openChosen(
  world: World,
  port: ChosenPort,
  part: Part | null,
  options: LinkOptions,
  say: (text: string) => void,
): Promise<OpenedPort> {
  if (port.benchFile === null) return { link: await world.openSerial(port.path, options), bench: null };
  // Before it is read: what two processes do to one bench file would be lost for one of them.
  const unlock = await world.lock(port.benchFile);
  try {
    const bench = await benchOf(world, port, part, say);
    const { openBenchLink } = await import('../emulator/bench-link.js');
    return { link: await openBenchLink(bench, { ...options, ended: () => void unlock() }), bench };
  } catch (error) {
    await unlock();
    throw error;
  }
}
