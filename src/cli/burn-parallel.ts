// Several writers at once: a set of ROMs, or one image several times, each on its own port; one failing does not harm the others.
import { ToolError } from '../ground/errors.js';
import { BurnAttempt, closeBurns, type PreparedBurn, type SetBurn } from './burn-attempt.js';
import type { Invocation } from './command.js';
import { benchFileOf } from './open-port.js';
import type { World } from './world.js';

/** Pairs things to burn with ports, in the order of both: as many things as ports, or one thing for all. */
export function pairWithPorts<Thing>(
  world: World,
  things: readonly Thing[],
  ports: readonly string[],
): { thing: Thing; port: string }[] {
  // One port may be written in several ways: through another folder, or a link such as those that name a writer by its serial number.
  const places = ports.map((port) => world.files.truePath(benchFileOf(port, world) ?? port));
  if (new Set(places).size < ports.length) throw new ToolError('cli.port-twice', { ports });
  if (things.length !== 1 && things.length !== ports.length)
    throw new ToolError('cli.ports-and-roms', { ports: ports.length, roms: things.length });
  return ports.map((port, index) => ({ port, thing: things.length === 1 ? things[0]! : things[index]! }));
}

/**
 * Runs all at once; returns the worst exit. What can be found beforehand, a bench that is missing or an image that does
 * not fit, is found for all before the first byte is written to any.
 */
export async function burnParallel(invocation: Invocation, burns: readonly SetBurn[]): Promise<number> {
  const attempts = burns.map((burn) => new BurnAttempt(invocation, burn, true));
  const prepared = await Promise.all(attempts.map((attempt) => attempt.prepare()));
  const ready = prepared.filter((p): p is PreparedBurn => p !== null);
  if (ready.length === attempts.length)
    await Promise.all(attempts.map((attempt, index) => attempt.carryOut(ready[index]!)));
  return closeBurns(invocation, attempts);
}
