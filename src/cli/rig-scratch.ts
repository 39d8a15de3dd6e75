// romkiln rig --scratch: what the chip holds goes to the keep, the tests write it, it is put back, and the book gets its line.
import { withCodes } from '../chip/chip-table.js';
import type { Part } from '../chip/part.js';
import { ToolError } from '../ground/errors.js';
import { exit } from '../ground/exit.js';
import { type Range, wholeRange } from '../image/range.js';
import { BrokenOff, type JobEnd } from '../job/broken-off.js';
import { pagesText } from '../job/page-list.js';
import { enterJob, recordedWrite } from '../job/recorded-write.js';
import { trySeatedChip } from '../job/rig.js';
import {
  cyclesAtMost,
  ScratchBrokenOff,
  type Scratched,
  type ScratchTests,
  tryScratchChip,
} from '../job/scratch-chip.js';
import { rangesText } from '../report/burn-text.js';
import { addressText } from '../report/quantity.js';
import { unwrittenText, writtenText } from '../report/rig-text.js';
import { addressBusTest, dataBusTest, drivenBytes, pageWitnessBytes, protectionCodes } from '../suspect/bus-tests.js';
import { judgeRig } from '../suspect/judge-rig.js';
import { jobOf, recordsOf } from './book-keeping.js';
import type { Invocation } from './command.js';
import { sayErrors } from './error-text.js';
import type { Found, Seen } from './rig.js';
import type { ChipSession } from './session.js';

const testsOf = (part: Part): ScratchTests => ({
  dataBus: dataBusTest(),
  addressBus: addressBusTest(part.addressLines),
  witness: pageWitnessBytes,
  codeCells: part.protection.value ? protectionCodes(part).on.map((load) => load.address) : [],
});

const countOfCells = (ranges: readonly Range[]): number => ranges.reduce((sum, { from, to }) => sum + to - from + 1, 0);

/** Says where the chip does not read as before. Returns the exit number that this asks for. */
function sayChanged({ world, command }: Invocation, part: Part, changed: readonly Range[], keptId: string): number {
  const [first, last] = [changed[0], changed.at(-1)];
  if (!first || !last) return exit.done;
  const texts = { from: addressText(first.from, part.cells), to: addressText(last.to, part.cells) };
  const error = new ToolError('job.not-put-back', { count: countOfCells(changed), ...texts, keptId });
  return sayErrors(error, world, { json: false, command });
}

/** A check that ended before its end: what it left in the chip is said. */
function sayBrokenOff(invocation: Invocation, session: ChipSession, broken: ScratchBrokenOff): void {
  const { world, command } = invocation;
  const { part } = session;
  session.progress.end();
  const { changed, maybeProtected } = broken;
  const keptId = broken.keptId!;
  if (changed === null) {
    const cells = rangesText([wholeRange(part.cells)], part.cells);
    sayErrors(new ToolError('job.rig-broken-off', { cells, keptId }), world, { json: false, command });
  } else if (changed.length === 0) world.stderr.write('Every cell of the chip reads as before the check.\n');
  else sayChanged(invocation, part, changed, keptId);
  if (maybeProtected)
    world.stderr.write(
      'The chip may be write-protected now: the codes that switch this on were sent. "romkiln unprotect" switches it off.\n',
    );
}

/** What the book says of a check that came to its end. */
function endOf({ cycles, refusesWrites, changed }: Scratched, sound: boolean): JobEnd {
  if (changed.length > 0)
    return { cycles, outcome: { kind: 'not-put-back', cells: countOfCells(changed) }, exit: exit.refused };
  if (refusesWrites) return { cycles: [], outcome: { kind: 'refused' }, exit: exit.refused };
  return { cycles, outcome: { kind: 'put-back', sound }, exit: sound ? exit.done : exit.differs };
}

/** Every data line must carry both levels before a cell is written: what a line hides could be neither kept nor put back. */
function leaveUnwritten(invocation: Invocation, session: ChipSession, seen: Seen): Found {
  enterJob(recordsOf(invocation, session), jobOf(invocation, session, null), {
    cycles: [],
    outcome: { kind: 'nothing-written' },
    exit: exit.differs,
  });
  const scratch = { written: false, kept: null, changed: [], leftProtected: false };
  return { seen, facts: { scratch }, text: unwrittenText(seen) };
}

export async function scratchTests(invocation: Invocation, session: ChipSession): Promise<Found> {
  const { writer, part, progress } = session;
  const signal = invocation.world.interrupt;
  const onRead = (label: string) => (done: number) => progress.show(label, done, part.cells);
  const { carriesAll, ...lines } = await trySeatedChip(writer, drivenBytes);
  if (!carriesAll) return leaveUnwritten(invocation, session, lines);
  const before = await writer.read(0, part.cells, onRead('reading what is there'), { signal });
  const tests = testsOf(part);
  // On a faulty rig a write can go anywhere: all that can be read is kept, and any page may be written.
  const job = {
    ...jobOf(invocation, session, null),
    content: 'rig test',
    pagesAtMost: pagesText(cyclesAtMost(part, tests)),
  };
  const old = [{ from: 0, bytes: before }];
  const { done, id, seen } = await recordedWrite(recordsOf(invocation, session), job, old, async (_, keptId) => {
    const done = await tryScratchChip(writer, part, before, tests, {
      signal,
      onRead: onRead('comparing with what was there'),
    });
    const seen: Seen = { ...lines, ...done.readings };
    return { result: { done, id: keptId!, seen }, end: endOf(done, judgeRig({ part, ...seen }).sound) };
  }).catch((error: unknown) => {
    if (error instanceof ScratchBrokenOff) sayBrokenOff(invocation, session, error);
    throw error instanceof BrokenOff ? error.reason : error;
  });
  progress.end();
  const { refusesWrites, changed } = done;
  const asked = sayChanged(invocation, part, changed, id);
  if (refusesWrites) throw new ToolError('job.scratch-refuses', { chip: part.name, withCodes: withCodes(part) });
  const { refusedWhenOn = false, tookWhenOff = true } = done.readings.protection ?? {};
  const leftProtected = refusedWhenOn && !tookWhenOff;
  return {
    seen,
    exit: asked,
    facts: { scratch: { written: true, kept: id, changed, leftProtected } },
    text: writtenText({ putBack: changed.length === 0, keptId: id, leftProtected }),
  };
}
