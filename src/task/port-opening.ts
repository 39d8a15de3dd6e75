// Opening a port: a real one, or the emulated bench from its file, which is made on first use.
import type { Part } from '../chip/part.js';
import type { EmulatedBench } from '../emulator/emulated-bench.js';
import { ToolError } from '../ground/errors.js';
import type { Link } from '../link/link.js';
import { firmwareLimits, greetingBaud } from '../protocol/limits.js';
import type { ChosenPort } from './port-choice.js';
import type { Surroundings } from './surroundings.js';

export interface OpenedPort {
  readonly link: Link;
  /** Null for a real port. */
  readonly bench: EmulatedBench | null;
}

/** The bench of a file; the default bench is made from the part that was asked for. */
async function benchOf(around: Surroundings, port: ChosenPort, part: Part | null): Promise<EmulatedBench> {
  const { files } = around;
  const path = port.benchFile!;
  const { EmulatedBench } = await import('../emulator/emulated-bench.js');
  const { readBenchState, saveBenchState } = await import('../emulator/bench-file.js');
  const seated = (state: ReturnType<typeof readBenchState>): EmulatedBench =>
    new EmulatedBench({
      state,
      firmware: around.firmwareHex(),
      path: port.path,
      save: (s) => saveBenchState(files, path, s),
    });
  if (port.path !== 'emulated' || files.readIfThere(path) !== null) return seated(readBenchState(files, path));
  if (part === null)
    throw new ToolError('cli.missing-option', {
      command: 'emulated',
      option: '--chip <part>',
      why: 'the emulated bench is made on first use and needs a chip.',
    });
  const { newBenchState } = await import('../emulator/bench-state.js');
  const state = newBenchState({ part });
  files.makeFolder(around.dataFolder);
  saveBenchState(files, path, state);
  around.tell({ kind: 'new-bench', part: state.part, path });
  return seated(state);
}

/** Opens the port at the greeting's rate. */
export async function openChosen(around: Surroundings, port: ChosenPort, part: Part | null): Promise<OpenedPort> {
  const options = { baud: greetingBaud, lineMax: firmwareLimits.line };
  if (port.benchFile === null) return { link: await around.openSerial(port.path, options), bench: null };
  // Before it is read: what two processes do to one bench file would be lost for one of them.
  const unlock = await around.lock(port.benchFile);
  try {
    const bench = await benchOf(around, port, part);
    const { openBenchLink } = await import('../emulator/bench-link.js');
    return { link: await openBenchLink(bench, { ...options, ended: () => void unlock() }), bench };
  } catch (error) {
    await unlock();
    throw error;
  }
}
