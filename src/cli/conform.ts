// romkiln conform: a writer held to firmware-protocol.md, rule by rule. With --scratch its chip is written: kept before, put back.
import type { Part } from '../chip/part.js';
import { type ConformanceReport, runConformance } from '../conform/conformance.js';
import { readScratchChip, type ScratchReading } from '../conform/scratch-cells.js';
import { ToolError } from '../ground/errors.js';
import { exit, worstExit } from '../ground/exit.js';
import { BrokenOff, type JobEnd } from '../job/broken-off.js';
import { conformCyclesAtMost, cyclesOfBlock } from '../job/conform-cycles.js';
import { pagesText } from '../job/page-list.js';
import { recordedWrite } from '../job/recorded-write.js';
import type { Link } from '../link/link.js';
import { firmwareLimits, greetingBaud } from '../protocol/limits.js';
import { rangesText } from '../report/burn-text.js';
import { conformanceText, ruleText } from '../report/conformance-text.js';
import { countOf } from '../report/quantity.js';
import { recordsOf } from './book-keeping.js';
import { type Execute, flagOption, type Invocation, textOption } from './command.js';
import { sayErrors } from './error-text.js';
import { type ChosenPort, choosePort, namedPart, openChosen, seatedPart } from './open-port.js';
import { makeProgress, type Progress } from './progress.js';

interface Bench {
  readonly invocation: Invocation;
  readonly port: ChosenPort;
  readonly part: Part | null;
  readonly progress: Progress;
}

async function onLink<Result>(
  { invocation, port, part, progress }: Bench,
  work: (link: Link) => Promise<Result>,
): Promise<Result> {
  const options = { baud: greetingBaud, lineMax: firmwareLimits.line };
  const { link } = await openChosen(invocation.world, port, part, options, (text) => progress.say(text));
  try {
    return await work(link);
  } finally {
    progress.end();
    await link.close();
  }
}

/** Runs the rules on a port that is opened for it, so that the writer comes fresh. */
const runRules = (
  bench: Bench,
  scratch: Uint8Array | null,
  onBlock: (block: { readonly address: number; readonly count: number }) => void = () => {},
): Promise<ConformanceReport> => {
  const { invocation, part, progress } = bench;
  const { world, options } = invocation;
  const told = { ...(part && { chip: part }), scratch, onBlock, signal: world.interrupt };
  return onLink(bench, (link) =>
    runConformance(link, told, (result, index, count) => {
      progress.show('rules', index + 1, count);
      if (flagOption(options, 'json')) return;
      progress.end();
      world.stdout.write(ruleText(result));
    }),
  );
};

/** What the chip holds, read twice. Throws conform.not-kept where it cannot be read, or not twice alike. */
async function cellsBefore(bench: Bench, part: Part): Promise<ScratchReading> {
  const { invocation, progress } = bench;
  const reading = {
    signal: invocation.world.interrupt,
    onRead: (done: number) => progress.show('reading what is there, twice', done, 2 * part.cells),
  };
  const notKept = (why: string): ToolError => new ToolError('conform.not-kept', { chip: part.name, why });
  const found = await onLink(bench, (link) => readScratchChip(link, part, reading)).catch((error: unknown) => {
    if (!ToolError.is(error, 'conform.broken')) throw error;
    throw notKept(`the writer does not read it (wanted ${error.facts.wanted}; seen ${error.facts.seen})`);
  });
  if (found.unsteady > 0 && !flagOption(invocation.options, 'discard'))
    throw notKept(`${countOf(found.unsteady, 'cell')} read otherwise the second time`);
  return found;
}

function endOf({ changedCells, interrupted, conforms }: ConformanceReport, cycles: readonly number[]): JobEnd {
  if (interrupted || changedCells === null) {
    const putBack = changedCells === 0;
    return { cycles, outcome: { kind: 'broken-off', putBack }, exit: interrupted ? exit.interrupted : exit.differs };
  }
  if (changedCells > 0) return { cycles, outcome: { kind: 'not-put-back', cells: changedCells }, exit: exit.differs };
  return { cycles, outcome: { kind: 'put-back', sound: conforms }, exit: conforms ? exit.done : exit.differs };
}

/** The rules with a chip that may be written, on the recorded path. */
async function runOnScratch(bench: Bench, part: Part): Promise<ConformanceReport> {
  const { invocation, port, progress } = bench;
  const { options, command, world } = invocation;
  const { build, cells } = await cellsBefore(bench, part);
  const job = {
    ...{ command, part, image: null, label: textOption(options, 'label') },
    writer: { port: port.path, build },
    content: 'conformance test',
    pagesAtMost: pagesText(conformCyclesAtMost(part)),
  };
  const old = flagOption(options, 'discard') ? 'discarded' : [{ from: 0, bytes: cells }];
  const cycles: number[] = [];
  return recordedWrite(recordsOf(invocation, { progress }), job, old, async () => {
    const report = await runRules(bench, cells, (block) => cycles.push(...cyclesOfBlock(part, block))).catch(
      (error: unknown) => {
        throw new BrokenOff(error, cycles);
      },
    );
    return { result: report, end: endOf(report, cycles) };
  }).catch((error: unknown) => {
    if (!(error instanceof BrokenOff)) throw error;
    const facts = { cells: rangesText([{ from: 0, to: part.cells - 1 }], part.cells), keptId: error.keptId };
    sayErrors(new ToolError('job.rig-broken-off', facts), world, { json: false, command });
    throw error.reason;
  });
}

export const execute: Execute = async (invocation) => {
  const { world, options, command } = invocation;
  const progress = makeProgress(world, flagOption(options, 'quiet'));
  const port = await choosePort(world, options);
  const part = namedPart(world, options) ?? (await seatedPart(world, port));
  const bench = { invocation, port, part, progress };
  const onScratch = flagOption(options, 'scratch') && part !== null;
  const report = onScratch ? await runOnScratch(bench, part) : await runRules(bench, null);
  world.stdout.write(
    flagOption(options, 'json')
      ? `${JSON.stringify({ command, port: port.path, ...report })}\n`
      : conformanceText(report),
  );
  return worstExit([
    report.interrupted ? exit.interrupted : exit.done,
    report.conforms && report.cellsPutBack !== false ? exit.done : exit.differs,
  ]);
};
