// A writer held to firmware-protocol.md. With a chip that may be written the run is on the recorded path: kept before, put back.
import type { Part } from '../chip/part.js';
import { type ConformanceReport, runConformance } from '../conform/conformance.js';
import type { ToldBlock } from '../conform/conversation.js';
import { readScratchChip, type ScratchReading } from '../conform/scratch-cells.js';
import { ToolError } from '../ground/errors.js';
import { exit } from '../ground/exit.js';
import { BrokenOff, type JobEnd } from '../job/broken-off.js';
import { conformCyclesAtMost, cyclesOfBlock } from '../job/conform-cycles.js';
import { pagesText } from '../job/page-list.js';
import { recordedWrite } from '../job/recorded-write.js';
import type { Link } from '../link/link.js';
import { countOf } from '../report/quantity.js';
import type { ChosenPort } from './port-choice.js';
import { openChosen } from './port-opening.js';
import { wholeChipInDoubt } from './protection.js';
import { type Errand, recordsOf } from './records.js';
import { rethrowSilence } from './silent-board.js';
import { type Surroundings, shown } from './surroundings.js';

export interface TriedWriter {
  readonly port: ChosenPort;
  /** Null where nobody knows what is in the socket: then only what needs no chip is tried. */
  readonly part: Part | null;
}

async function onLink<Result>(
  around: Surroundings,
  { port, part }: TriedWriter,
  work: (link: Link) => Promise<Result>,
): Promise<Result> {
  const { link } = await openChosen(around, port, part);
  try {
    return await work(link);
  } catch (error) {
    await link.close();
    return await rethrowSilence(around, port, error);
  } finally {
    around.progressEnds();
    await link.close();
  }
}

/** Tries the rules on a port that is opened for it, so that the writer comes fresh. No cell is written without `scratch`. */
export const tryRules = (
  around: Surroundings,
  tried: TriedWriter,
  scratch: Uint8Array | null = null,
  onBlock: (block: ToldBlock) => void = () => {},
): Promise<ConformanceReport> =>
  onLink(around, tried, (link) =>
    runConformance(
      link,
      { ...(tried.part && { chip: tried.part }), scratch, onBlock, signal: around.interrupt },
      (result, index, count) => {
        around.progress('rules', index + 1, count);
        around.tell({ kind: 'rule', result });
      },
    ),
  );

/** What the chip holds, read twice. Throws conform.not-kept where it cannot be read, or not twice alike and is to be kept. */
async function cellsBefore(
  around: Surroundings,
  port: ChosenPort,
  part: Part,
  discard: boolean,
): Promise<ScratchReading> {
  const notKept = (why: string): ToolError => new ToolError('conform.not-kept', { chip: part.name, why });
  const { signal, onRead } = shown(around, 'reading-twice');
  const reading = { signal, onRead: (done: number) => onRead(done, 2 * part.cells) };
  const found = await onLink(around, { port, part }, (link) => readScratchChip(link, part, reading)).catch(
    (error: unknown) => {
      if (!ToolError.is(error, 'conform.broken')) throw error;
      throw notKept(`the writer does not read it (wanted ${error.facts.wanted}; seen ${error.facts.seen})`);
    },
  );
  if (found.unsteady > 0 && !discard)
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

/** All rules, with a chip that may be written. */
export async function tryRulesOnScratch(
  around: Surroundings,
  port: ChosenPort,
  part: Part,
  { discard, ...errand }: Errand & { readonly discard: boolean },
): Promise<ConformanceReport> {
  const { build, cells } = await cellsBefore(around, port, part, discard);
  const job = {
    ...errand,
    ...{ part, image: null, writer: { port: port.path, build } },
    content: 'conformance test',
    pagesAtMost: pagesText(conformCyclesAtMost(part)),
  };
  const cycles: number[] = [];
  const onBlock = (block: ToldBlock): void => void cycles.push(...cyclesOfBlock(part, block));
  return recordedWrite(recordsOf(around), job, discard ? 'discarded' : [{ from: 0, bytes: cells }], async () => {
    const report = await tryRules(around, { port, part }, cells, onBlock).catch((error: unknown) => {
      // Where no block was sent every cell is as it was.
      throw new BrokenOff(error, cycles, cycles.length === 0);
    });
    return { result: report, end: endOf(report, cycles) };
  }).catch((error: unknown) => {
    if (!(error instanceof BrokenOff)) throw error;
    if (cycles.length > 0) around.tell({ kind: 'aside', error: wholeChipInDoubt('job.rig-broken-off', part, error) });
    throw error.reason;
  });
}
