// romkiln burn: an image, or the ROMs of a plan one after the other, into chips.
import { exit, worstExit } from '../ground/exit.js';
import { burnImage } from './burn-image.js';
import { burnParallel, pairWithPorts } from './burn-parallel.js';
import { type Execute, flagOption, type Invocation, listOption } from './command.js';
import { withChip } from './session.js';
import { isPlanFile, loadSource, loadSources, type Source } from './source.js';
import { type SourceLoad, sourceAndTarget } from './source-and-target.js';

async function burnOne(invocation: Invocation, load: SourceLoad): Promise<number> {
  const target = await sourceAndTarget(invocation, load);
  const { image, describe, range } = target.also;
  const codes = flagOption(invocation.options, 'protected');
  return withChip(invocation, target, { protection: codes ? 'prefix' : 'codes' }, (session) =>
    burnImage(invocation, session, { image, range, describe, codes }),
  );
}

/** With one writer a set is burned chip by chip; the person changes chips in between, with the power off. */
async function burnSet(invocation: Invocation, sources: readonly Source[]): Promise<number> {
  const { world } = invocation;
  const exits: number[] = [];
  for (const [index, source] of sources.entries()) {
    const rom = source.rom?.name ?? source.name;
    const answer = await world.ask(
      `${index + 1} of ${sources.length}: power off, seat ${rom} (${source.chip}) the right way round, power on, press Enter. `,
    );
    if (answer === null || world.interrupt.aborted) {
      world.stderr.write(`\nStopped before ${rom}; finished: ${index} of ${sources.length}.\n`);
      return worstExit([...exits, exit.interrupted]);
    }
    exits.push(await burnOne(invocation, { plan: source }));
  }
  return worstExit(exits);
}

export const execute: Execute = async (given) => {
  const { world, operands } = given;
  const ports = listOption(given.options, 'port');
  const [port] = ports;
  const options = { ...given.options, port };
  const invocation = { ...given, options };
  const path = operands[0]!;
  if (ports.length > 1) {
    const file: SourceLoad = { file: (part) => loadSource(world, path, options, part?.cells ?? null) };
    const loads = isPlanFile(path)
      ? (await loadSources(world, path, options)).map((plan): SourceLoad => ({ plan }))
      : [file];
    const burns = pairWithPorts(loads, ports).map(({ port, thing }) => ({
      port,
      run: (own: Invocation) => burnOne(own, thing),
    }));
    return burnParallel(invocation, burns);
  }
  if (!isPlanFile(path))
    return burnOne(invocation, { file: (part) => loadSource(world, path, options, part?.cells ?? null) });
  const sources = await loadSources(world, path, options);
  return sources.length === 1 ? burnOne(invocation, { plan: sources[0]! }) : burnSet(invocation, sources);
};
