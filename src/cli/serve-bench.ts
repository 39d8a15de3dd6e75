// romkiln emulate serve: the bench on a pseudo terminal, in real time, for any program that can open a serial port.

import { readBenchState, saveBenchState } from '../emulator/bench-file.js';
import { EmulatedBench } from '../emulator/emulated-bench.js';
import { RealTimePump } from '../emulator/real-time-pump.js';
import { ToolError } from '../ground/errors.js';
import { exit } from '../ground/exit.js';
import type { Invocation } from './command.js';
import type { Neighbour, World } from './world.js';

/** A path as socat reads it: it gives commas, quotes, `!!` and the like a meaning of their own, unless a backslash stands before. */
const inSocatWords = (path: string): string => path.replace(/[^\w./\-\u0080-\uffff]/g, '\\$&');

/** socat between our pipe and a pseudo terminal that is found under `link`. */
function startSocat(world: World, link: string): Neighbour {
  clearLink(world, link);
  const socat = world.start('socat', ['-', `pty,raw,echo=0,link=${inSocatWords(link)}`]);
  if (socat === null) throw new ToolError('cli.no-socat', {});
  return socat;
}

/** socat removes whatever stands there. Only a link to a pseudo terminal can be one of its own, left by a serve that was killed. */
function clearLink({ files }: World, link: string): void {
  const target = files.linkAt(link);
  if (target === null ? files.standing(link).kind === 'nothing' : target.startsWith('/dev/pts/')) return;
  throw new ToolError('cli.file-in-the-way', { path: link });
}

/**
 * Serves until interrupted. socat ends when the far program closes the port; it is then started again, so that one bench
 * can be opened time after time, as a board on a cable can.
 */
export async function serveBench({ world, options }: Invocation, path: string): Promise<number> {
  const state = readBenchState(world.files, path);
  const bench = new EmulatedBench({
    state,
    firmware: world.firmwareHex(),
    path,
    save: (s) => saveBenchState(world.files, path, s),
  });
  const link = `${path}.port`;
  let socat = startSocat(world, link);
  let fail: (why: unknown) => void = () => {};
  const failed = new Promise<never>((_, reject) => {
    fail = reject;
  });
  // Once the serving is over nobody waits for it any more.
  failed.catch(() => {});
  const pump = new RealTimePump(bench, world.clock, (bytes) => socat.write(bytes), fail);
  const interrupted = new Promise<'interrupted'>((settle) => {
    world.interrupt.addEventListener('abort', () => settle('interrupted'), { once: true });
  });
  pump.start();
  if (options.quiet !== true)
    world.stderr.write(
      `The bench is served on ${link} until Ctrl-C; neither a reset nor the host's rate can be seen through it.\n`,
    );
  for (;;) {
    socat.onBytes((bytes) => pump.received(bytes));
    const ended = await Promise.race([interrupted, failed, socat.ended]).catch((error: unknown) => {
      socat.stop();
      throw error;
    });
    if (ended === 'interrupted') break;
    if (ended.exit !== 0 && ended.stderr.includes('E ') && !ended.stderr.includes('Input/output error')) {
      pump.stop();
      throw new ToolError('cli.neighbour-failed', {
        program: 'socat',
        said: ended.stderr.trim().split('\n').at(-1) ?? '',
      });
    }
    socat = startSocat(world, link);
  }
  socat.stop();
  pump.stop();
  return exit.interrupted;
}
