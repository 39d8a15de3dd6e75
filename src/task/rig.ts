// The rig check, one stage a conversation: the moves of job, joined with the judgement of suspect.
import { withCodes } from '../chip/chip-table.js';
import type { Part } from '../chip/part.js';
import { ToolError } from '../ground/errors.js';
import { exit } from '../ground/exit.js';
import type { Image } from '../image/image.js';
import type { Range } from '../image/range.js';
import { BrokenOff, type JobEnd } from '../job/broken-off.js';
import { pagesText } from '../job/page-list.js';
import { enterJob, recordedWrite } from '../job/recorded-write.js';
import { tryEmptySocket, trySeatedChip } from '../job/rig.js';
import {
  cyclesAtMost,
  ScratchBrokenOff,
  type Scratched,
  type ScratchTests,
  tryScratchChip,
} from '../job/scratch-chip.js';
import { addressText } from '../report/quantity.js';
import { addressBusTest, dataBusTest, drivenBytes, pageWitnessBytes, protectionCodes } from '../suspect/bus-tests.js';
import { judgeRig, type RigObservations } from '../suspect/judge-rig.js';
import { wholeChipInDoubt } from './protection.js';
import { type Errand, jobOf, recordsOf } from './records.js';
import { type ChipSession, type Target, withChip } from './session.js';
import { type Surroundings, shown } from './surroundings.js';

export type Seen = Partial<Omit<RigObservations, 'part'>>;

/** What became of a scratch chip. */
export interface ScratchEnd {
  readonly written: boolean;
  readonly kept: string | null;
  readonly changed: readonly Range[];
  readonly leftProtected: boolean;
}

/** What a stage found: for the judgement, and beside it. */
export interface Found {
  readonly seen: Seen;
  readonly exit?: number;
  readonly scratch?: ScratchEnd;
}

const unasked = { presence: 'unasked' } as const;

export const tryEmpty = (around: Surroundings, target: Target): Promise<Found> =>
  withChip(around, target, unasked, async ({ writer }) => ({ seen: await tryEmptySocket(writer, drivenBytes) }));

export const tryReference = (around: Surroundings, target: Target, wanted: Image): Promise<Found> =>
  withChip(around, target, unasked, async ({ writer, part }) => {
    const { carriesAll: _, ...lines } = await trySeatedChip(writer, drivenBytes);
    const { signal, onRead } = shown(around, 'reading');
    const readback = await writer.read(0, part.cells, (done) => onRead(done, part.cells), { signal });
    return { seen: { ...lines, reference: { wanted, readback } } };
  });

/** Write cycles are waited out: a data line that is in doubt is no witness for their end. */
const withoutPolling = (target: Target): Target => ({
  ...target,
  part: { ...target.part, polling: { ...target.part.polling, value: 'limit' } },
});

/** Its cells are kept, written, and put back. Throws job.scratch-refuses where it took no write. */
export const tryScratch = (around: Surroundings, target: Target, errand: Errand): Promise<Found> =>
  withChip(around, withoutPolling(target), unasked, (session) => scratchTests(around, session, errand));

const testsOf = (part: Part): ScratchTests => ({
  dataBus: dataBusTest(),
  addressBus: addressBusTest(part.addressLines),
  witness: pageWitnessBytes,
  codeCells: part.protection.value ? protectionCodes(part).on.map((load) => load.address) : [],
});

const countOfCells = (ranges: readonly Range[]): number => ranges.reduce((sum, { from, to }) => sum + to - from + 1, 0);

/** Where the chip does not read as before; null where it does. */
function notPutBack(part: Part, changed: readonly Range[], keptId: string): ToolError | null {
  const [first, last] = [changed[0], changed.at(-1)];
  if (!first || !last) return null;
  const texts = { from: addressText(first.from, part.cells), to: addressText(last.to, part.cells) };
  return new ToolError('job.not-put-back', { count: countOfCells(changed), ...texts, keptId });
}

/** A check that ended before its end: what it left in the chip. */
function tellBrokenOff(around: Surroundings, part: Part, broken: ScratchBrokenOff): void {
  const { changed, maybeProtected } = broken;
  const error =
    changed === null
      ? wholeChipInDoubt('job.rig-broken-off', part, broken)
      : notPutBack(part, changed, broken.keptId ?? '');
  around.tell(error ? { kind: 'aside', error } : { kind: 'put-back' });
  if (maybeProtected) around.tell({ kind: 'maybe-protected' });
}

/** What the book says of a check that came to its end. */
function endOf({ cycles, refusesWrites, changed }: Scratched, sound: boolean): JobEnd {
  if (changed.length > 0)
    return { cycles, outcome: { kind: 'not-put-back', cells: countOfCells(changed) }, exit: exit.refused };
  if (refusesWrites) return { cycles: [], outcome: { kind: 'refused' }, exit: exit.refused };
  return { cycles, outcome: { kind: 'put-back', sound }, exit: sound ? exit.done : exit.differs };
}

/** Every data line must carry both levels before a cell is written: what a line hides could be neither kept nor put back. */
function leaveUnwritten(around: Surroundings, session: ChipSession, errand: Errand, seen: Seen): Found {
  enterJob(recordsOf(around), jobOf(errand, session, null), {
    cycles: [],
    outcome: { kind: 'nothing-written' },
    exit: exit.differs,
  });
  return { seen, scratch: { written: false, kept: null, changed: [], leftProtected: false } };
}

async function scratchTests(around: Surroundings, session: ChipSession, errand: Errand): Promise<Found> {
  const { writer, part } = session;
  const onRead = (stage: 'reading-before' | 'comparing-before') => (done: number) =>
    around.progress(stage, done, part.cells);
  const signal = around.interrupt;
  const { carriesAll, ...lines } = await trySeatedChip(writer, drivenBytes);
  if (!carriesAll) return leaveUnwritten(around, session, errand, lines);
  const before = await writer.read(0, part.cells, onRead('reading-before'), { signal });
  const tests = testsOf(part);
  // On a faulty rig a write can go anywhere: all that can be read is kept, and any page may be written.
  const pagesAtMost = pagesText(cyclesAtMost(part, tests));
  const job = { ...jobOf(errand, session, null), content: 'rig test', pagesAtMost };
  const old = [{ from: 0, bytes: before }];
  const { done, id, seen } = await recordedWrite(recordsOf(around), job, old, async (_, keptId) => {
    const done = await tryScratchChip(writer, part, before, tests, { signal, onRead: onRead('comparing-before') });
    const seen: Seen = { ...lines, ...done.readings };
    return { result: { done, id: keptId!, seen }, end: endOf(done, judgeRig({ part, ...seen }).sound) };
  }).catch((error: unknown) => {
    if (error instanceof ScratchBrokenOff) tellBrokenOff(around, part, error);
    throw error instanceof BrokenOff ? error.reason : error;
  });
  const { refusesWrites, changed } = done;
  const error = notPutBack(part, changed, id);
  if (error) around.tell({ kind: 'aside', error });
  if (refusesWrites) throw new ToolError('job.scratch-refuses', { chip: part.name, withCodes: withCodes(part) });
  const { refusedWhenOn = false, tookWhenOff = true } = done.readings.protection ?? {};
  const leftProtected = refusedWhenOn && !tookWhenOff;
  return { seen, ...(error && { exit: error.exit }), scratch: { written: true, kept: id, changed, leftProtected } };
}
