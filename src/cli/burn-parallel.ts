// Several writers at once: a set of ROMs, or one image several times, each on its own port; one failing does not harm the others.
import { ToolError } from '../ground/errors.js';
import { worstExit } from '../ground/exit.js';
import { flagOption, type Invocation } from './command.js';
import { sayErrors } from './error-text.js';
import type { Output, World } from './world.js';

/** An output whose lines begin with a name, so that several writers can be told apart. A moving line would be torn: plain lines. */
const named = (output: Output, name: string): Output => ({
  isTerminal: false,
  columns: output.columns,
  write: (text) => output.write(text.replace(/^(?=.)/gm, `${name}: `)),
});

export interface ParallelBurn {
  readonly port: string;
  /** Runs in a world of its own outputs. */
  run(invocation: Invocation): Promise<number>;
}

/** Pairs things to burn with ports, in the order of both: as many things as ports, or one thing for all. */
export function pairWithPorts<Thing>(
  things: readonly Thing[],
  ports: readonly string[],
): { thing: Thing; port: string }[] {
  if (new Set(ports).size < ports.length) throw new ToolError('cli.port-twice', { ports });
  if (things.length !== 1 && things.length !== ports.length)
    throw new ToolError('cli.ports-and-roms', { ports: ports.length, roms: things.length });
  return ports.map((port, index) => ({ port, thing: things.length === 1 ? things[0]! : things[index]! }));
}

/** Runs all at once; returns the worst exit. With --json one object holds the object of each. */
export async function burnParallel(invocation: Invocation, burns: readonly ParallelBurn[]): Promise<number> {
  const { world, options, command } = invocation;
  const json = flagOption(options, 'json');
  const objects: unknown[] = [];
  const one = async ({ port, run }: ParallelBurn): Promise<number> => {
    const texts: string[] = [];
    const collect: Output = { ...world.stdout, isTerminal: false, write: (text) => void texts.push(text) };
    const own: World = {
      ...world,
      stdout: json ? collect : named(world.stdout, port),
      stderr: named(world.stderr, port),
    };
    const ended = await run({ ...invocation, world: own, options: { ...options, port } }).catch((error: unknown) =>
      sayErrors(error, own, { json, command }),
    );
    if (texts.length > 0) objects.push({ port, exit: ended, ...(JSON.parse(texts.join('')) as object) });
    return ended;
  };
  const exits = await Promise.all(burns.map(one));
  if (json) world.stdout.write(`${JSON.stringify({ command, burns: objects })}\n`);
  return worstExit(exits);
}
