// romkiln rig --scratch: what the chip holds goes to the keep, the tests write it, it is put back, and the book gets its line.
import { withCodes } from '../chip/chip-table.js';
import type { Part } from '../chip/part.js';
import { ToolError } from '../ground/errors.js';
import { exit, worstExit } from '../ground/exit.js';
import { type Range, wholeRange } from '../image/range.js';
import { rangesText as pagesText } from '../job/book.js';
import type { KeptRecord } from '../job/keep.js';
import { trySeatedChip } from '../job/rig.js';
import {
  cyclesAtMost,
  ScratchBrokenOff,
  type Scratched,
  type ScratchTests,
  tryScratchChip,
} from '../job/scratch-chip.js';
import { rangesText } from '../report/burn-text.js';
import { addressText, countOf } from '../report/quantity.js';
import { unwrittenText, writtenText } from '../report/rig-text.js';
import { addressBusTest, dataBusTest, drivenBytes, pageWitnessBytes, protectionCodes } from '../suspect/bus-tests.js';
import { judgeRig } from '../suspect/judge-rig.js';
import { checkBook, enterInBook, keepOf } from './book-keeping.js';
import { type Invocation, textOption } from './command.js';
import { sayErrors } from './error-text.js';
import type { Found, Seen } from './rig.js';
import type { ChipSession } from './session.js';

const testsOf = (part: Part): ScratchTests => ({
  dataBus: dataBusTest(),
  addressBus: addressBusTest(part.addressLines),
  witness: pageWitnessBytes,
  codeCells: part.protection.value ? protectionCodes(part).on.map((load) => load.address) : [],
});

/** On a faulty rig a write can go anywhere: all that can be read is kept, and any page may be written. */
function keep(invocation: Invocation, { part, port }: ChipSession, before: Uint8Array): KeptRecord {
  const { world, options, command } = invocation;
  checkBook(world);
  return keepOf(world).store(
    {
      time: world.wallTime().toISOString(),
      chip: part.name,
      label: textOption(options, 'label'),
      port: port.path,
      image: 'rig test',
      burn: { command, pages: pagesText(cyclesAtMost(part, testsOf(part))), pageBytes: part.pageBytes.value },
    },
    [{ from: 0, bytes: before }],
  );
}

const countOfCells = (ranges: readonly Range[]): number => ranges.reduce((sum, { from, to }) => sum + to - from + 1, 0);

/** Says where the chip does not read as before. Returns the exit number that this asks for. */
function sayChanged({ world, command }: Invocation, part: Part, changed: readonly Range[], keptId: string): number {
  const [first, last] = [changed[0], changed.at(-1)];
  if (!first || !last) return exit.done;
  const texts = { from: addressText(first.from, part.cells), to: addressText(last.to, part.cells) };
  const error = new ToolError('job.not-put-back', { count: countOfCells(changed), ...texts, keptId });
  return sayErrors(error, world, { json: false, command });
}

/** A check that ended before its end: what it left in the chip is said and entered. */
function sayBrokenOff(invocation: Invocation, session: ChipSession, broken: ScratchBrokenOff, keptId: string): void {
  const { world, command } = invocation;
  const { part } = session;
  session.progress.end();
  const { reason, changed, cycles, maybeProtected } = broken;
  if (changed === null) {
    const cells = rangesText([wholeRange(part.cells)], part.cells);
    sayErrors(new ToolError('job.rig-broken-off', { cells, keptId }), world, { json: false, command });
  } else if (changed.length === 0) world.stderr.write('Every cell of the chip reads as before the check.\n');
  else sayChanged(invocation, part, changed, keptId);
  if (maybeProtected)
    world.stderr.write(
      'The chip may be write-protected now: the codes that switch this on were sent. "romkiln unprotect" switches it off.\n',
    );
  enterInBook(invocation, session, {
    image: null,
    cycles,
    result: changed?.length === 0 ? 'broken off, put back' : 'broken off',
    exit: reason instanceof ToolError ? reason.exit : exit.ourFault,
    proven: 'nothing',
    record: keptId,
  });
}

const resultText = ({ refusesWrites, changed }: Scratched): string => {
  if (changed.length > 0) return `${countOf(countOfCells(changed), 'cell')} not put back`;
  return refusesWrites ? 'refused writes' : 'put back';
};

/** Every data line must carry both levels before a cell is written: what a line hides could be neither kept nor put back. */
function leaveUnwritten(invocation: Invocation, session: ChipSession, seen: Seen): Found {
  enterInBook(invocation, session, {
    image: null,
    cycles: [],
    result: 'nothing written',
    exit: exit.differs,
    proven: 'nothing',
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
  const { id } = keep(invocation, session, before);
  const done = await tryScratchChip(writer, part, before, testsOf(part), {
    signal,
    onRead: onRead('comparing with what was there'),
  }).catch((error: unknown) => {
    if (!(error instanceof ScratchBrokenOff)) throw error;
    sayBrokenOff(invocation, session, error, id);
    throw error.reason;
  });
  progress.end();
  const seen: Seen = { ...lines, ...done.readings };
  const { refusesWrites, changed } = done;
  const sound = judgeRig({ part, ...seen }).sound;
  const asked = sayChanged(invocation, part, changed, id);
  enterInBook(invocation, session, {
    image: null,
    cycles: refusesWrites ? [] : done.cycles,
    result: resultText(done),
    exit: refusesWrites ? exit.refused : worstExit([asked, sound ? exit.done : exit.differs]),
    proven: sound && !refusesWrites ? "what the tests can see of this writer's wiring" : 'nothing',
    record: id,
  });
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
