// romkiln burn: an image, or the ROMs of a plan one after the other, into chips.
import { ToolError } from '../ground/errors.js';
import { exit, worstExit } from '../ground/exit.js';
import { pairWithPorts } from '../task/port-choice.js';
import { BurnAttempt, closeBurns, type PreparedBurn } from './burn-attempt.js';
import { runBurn } from './burn-image.js';
import { burnParallel } from './burn-parallel.js';
import { type Execute, flagOption, type Invocation, listOption, textOption } from './command.js';
import { sayErrors } from './error-text.js';
import { tellDoubts } from './plan-doubts.js';
import { isPlanFile } from './plan-file.js';
import { loadSource, loadSources, type Source } from './source.js';
import { type SourceLoad, sourceAndTarget } from './source-and-target.js';

async function prepareBurn(invocation: Invocation, load: SourceLoad): Promise<PreparedBurn> {
  const target = await sourceAndTarget(invocation, load);
  const { image, describe, range } = target.also;
  const codes = flagOption(invocation.options, 'protected');
  return () => runBurn(invocation, target, { image, range, describe, codes });
}

const burnOne = async (invocation: Invocation, load: SourceLoad): Promise<number> =>
  (await prepareBurn(invocation, load))();

/** With one writer a set is burned chip by chip; the person changes chips in between, with the power off. */
async function burnSet(invocation: Invocation, sources: readonly Source[]): Promise<number> {
  const { world } = invocation;
  const port = textOption(invocation.options, 'port');
  const attempts = sources.map(
    (plan) =>
      new BurnAttempt(invocation, { name: nameOf(plan), port, prepare: (own) => prepareBurn(own, { plan }) }, false),
  );
  for (const [index, source] of sources.entries()) {
    const answer = await world.ask(
      `${index + 1} of ${sources.length}: power off, seat ${nameOf(source)} (${source.chip}) the right way round, power on, press Enter. `,
    );
    if (answer === null || world.interrupt.aborted) {
      world.stderr.write(`\nStopped before ${nameOf(source)}.\n`);
      const closed = closeBurns(invocation, attempts);
      // Who answered before and ends the input now wants to stop.
      if (world.interrupt.aborted || index > 0) return worstExit([closed, exit.interrupted]);
      const unanswered = new ToolError('cli.no-answer', { question: `The question before ${nameOf(source)}` });
      return worstExit([closed, sayErrors(unanswered, world, { json: false, command: invocation.command })]);
    }
    const attempt = attempts[index]!;
    const prepared = await attempt.prepare();
    if (prepared === null) break;
    await attempt.carryOut(prepared);
    // A chip that does not take its bytes says nothing about the next one; a writer that is gone does.
    if (attempt.why !== null && attempt.exit !== exit.refused) break;
  }
  return closeBurns(invocation, attempts);
}

const nameOf = (source: Source): string => source.rom?.name ?? source.name;

export const execute: Execute = async (given) => {
  const { world, operands } = given;
  const ports = listOption(given.options, 'port');
  const [port] = ports;
  const options = { ...given.options, port };
  const invocation = { ...given, options };
  const path = operands[0]!;
  const file: SourceLoad = { file: (part) => loadSource(world, path, options, part?.cells ?? null) };
  const sources = isPlanFile(path) ? await loadSources(world, path, options) : [];
  const plan = sources[0]?.plan ?? null;
  if (plan !== null) await tellDoubts(world, path, plan);
  const label = textOption(options, 'label');
  const chips = Math.max(ports.length, sources.length);
  if (label !== null && chips > 1) throw new ToolError('cli.one-label', { label, chips });
  if (ports.length > 1) {
    const loads = isPlanFile(path) ? sources.map((plan): SourceLoad => ({ plan })) : [file];
    const burns = pairWithPorts(world, loads, ports).map(({ port, thing }) => ({
      name: sources.length > 1 && 'plan' in thing ? nameOf(thing.plan) : port,
      port,
      prepare: (own: Invocation) => prepareBurn(own, thing),
    }));
    return burnParallel(invocation, burns);
  }
  const [source] = sources;
  if (!source) return burnOne(invocation, file);
  return sources.length === 1 ? burnOne(invocation, { plan: source }) : burnSet(invocation, sources);
};
