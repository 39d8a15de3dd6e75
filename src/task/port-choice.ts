// Which port a task talks to: a real one, or the emulated bench from its file.
import type { Part } from '../chip/part.js';
import { ToolError } from '../ground/errors.js';
import type { Surroundings } from './surroundings.js';

/** A port as chosen, before it is opened. */
export interface ChosenPort {
  readonly path: string;
  /** The bench file where the port is the emulated bench; null for a real port. */
  readonly benchFile: string | null;
}

type Around = Pick<Surroundings, 'dataFolder' | 'files' | 'listPorts'>;

// A path may hold any character, a line end too.
const emulated = /^emulated(?::(.*))?$/s;

/** Null for a real port. Throws cli.no-bench-file. */
const benchFileOf = (path: string, { dataFolder }: Pick<Around, 'dataFolder'>): string | null => {
  const match = emulated.exec(path);
  if (!match) return null;
  const [, file] = match;
  if (file === '') throw new ToolError('cli.no-bench-file', { port: path });
  return file ?? `${dataFolder}/bench.json`;
};

/** The port that was named, else the only one there is. Two ports are never guessed between. */
export async function choosePort(around: Around, named: string | null): Promise<ChosenPort> {
  if (named !== null) return { path: named, benchFile: benchFileOf(named, around) };
  const ports = (await around.listPorts()).map((p) => p.path);
  if (ports.length > 1) throw new ToolError('cli.which-port', { ports });
  if (ports.length === 0) throw new ToolError('cli.no-port', {});
  return { path: ports[0]!, benchFile: null };
}

/** The part that is seated on the bench of a file; null for a real port, or a bench that is not made yet. */
export async function seatedPart({ files }: Pick<Around, 'files'>, port: ChosenPort): Promise<Part | null> {
  if (port.benchFile === null || (port.path === 'emulated' && files.readIfThere(port.benchFile) === null)) return null;
  const { readBenchState } = await import('../emulator/bench-file.js');
  return readBenchState(files, port.benchFile).part;
}

/** Pairs things to burn with ports, in the order of both: as many things as ports, or one thing for all. */
export function pairWithPorts<Thing>(
  around: Around,
  things: readonly Thing[],
  ports: readonly string[],
): { thing: Thing; port: string }[] {
  // One port may be written in several ways: through another folder, or a link such as those that name a writer by its serial number.
  const places = ports.map((port) => around.files.truePath(benchFileOf(port, around) ?? port));
  if (new Set(places).size < ports.length) throw new ToolError('cli.port-twice', { ports });
  if (things.length !== 1 && things.length !== ports.length)
    throw new ToolError('cli.ports-and-roms', { ports: ports.length, roms: things.length });
  return ports.map((port, index) => ({ port, thing: things.length === 1 ? things[0]! : things[index]! }));
}
