// Jobs on an emulated bench, through the same code as on a real port, and how much of the bench's own time each part of them took.
import { readFileSync } from 'node:fs';
import { findPart } from '../src/chip/chip-table.js';
import type { Part } from '../src/chip/part.js';
import { openBenchLink } from '../src/emulator/bench-link.js';
import { newBenchState } from '../src/emulator/bench-state.js';
import { EmulatedBench } from '../src/emulator/emulated-bench.js';
import { cyclesOfUs, msOfCycles } from '../src/emulator/time-units.js';
import type { Violation } from '../src/emulator/violation.js';
import { seededRandom } from '../src/ground/random.js';
import { type Image, imageOfBytes } from '../src/image/image.js';
import { type Range, wholeRange } from '../src/image/range.js';
import { burn } from '../src/job/burn.js';
import { planBurn } from '../src/job/burn-plan.js';
import { firmwareLimits, greetingBaud } from '../src/protocol/limits.js';
import { chipChoice } from '../src/writer/chip-choice.js';
import { openWriter, type Writer } from '../src/writer/writer.js';
import { LineWatch, type Phase } from './line-watch.js';
import { type PinWatch, watchPins } from './pin-watch.js';

const firmware = readFileSync(new URL('../firmware/romkiln-writer.hex', import.meta.url), 'latin1');

export interface Seat {
  readonly chip: string;
  readonly cycleUs: number;
  /** Default 500000. */
  readonly baud?: number;
  /** Default 0. */
  readonly answerDelayMs?: number;
  /** Default: all cells FF. */
  readonly contents?: Uint8Array;
}

export interface Session {
  readonly part: Part;
  readonly bench: EmulatedBench;
  readonly writer: Writer;
  readonly lines: LineWatch;
  readonly pins: PinWatch;
  /** Bench time from opening the port until the chip was chosen. */
  readonly connectMs: number;
}

/** Bytes that differ from FF everywhere, so that every cell costs its write cycle. */
export const fullImage = (cells: number, seed: number): Uint8Array =>
  seededRandom(seed)
    .bytes(cells)
    .map((byte) => (byte === 0xff ? 0 : byte));

export async function onBench<Result>(seat: Seat, work: (session: Session) => Promise<Result>): Promise<Result> {
  const { chip, cycleUs, baud = 500_000, answerDelayMs = 0, contents } = seat;
  const part = findPart(chip);
  const state = newBenchState({ part, cycleUs, answerDelayMs, ...(contents && { contents }) });
  const bench = new EmulatedBench({ state, firmware });
  const begin = bench.cycles;
  const link = await openBenchLink(bench, { baud: greetingBaud, lineMax: firmwareLimits.line });
  const writer = await openWriter(link);
  if (baud !== greetingBaud) await writer.setRate(baud);
  await writer.chip(chipChoice(part));
  await writer.presence(0);
  const connectMs = msOfCycles(bench.cycles - begin);
  try {
    return await work({ part, bench, writer, connectMs, lines: new LineWatch(bench, baud), pins: watchPins() });
  } finally {
    await writer.close();
  }
}

/** Where the time of a burn went, milliseconds of the bench. */
export interface Spent {
  /** The chip's write cycles. */
  readonly chipMs: number;
  /** The chip's load windows, one a page. */
  readonly windowMs: number;
  /** The writer had nothing to do until the next line was there; and the last answer on its way. */
  readonly linkMs: number;
  /** The rest: decoding, loading, finding the end of a cycle, comparing, answering. */
  readonly firmwareMs: number;
}

export interface Burned {
  /** From the first page line sent until the last page's answer left the writer. */
  readonly writeMs: number;
  /** The chip's write cycles alone: what `writeMs` cannot fall below. */
  readonly limitMs: number;
  readonly spent: Spent;
  readonly writeCycles: number;
  readonly violations: readonly Violation[];
  readonly pins: PinWatch;
}

export const msOfPhase = (phase: Phase | null): number => (phase ? msOfCycles(phase.endedAt - phase.begunAt) : 0);

/** Splits the time of a write phase. A block's line that came after the block before it had ended kept the writer waiting. */
function spentOn(session: Session, phase: Phase, writeCycles: number): Spent {
  const { part, bench } = session;
  const ends = session.pins.released.filter((cycle) => cycle > phase.begunAt && cycle <= phase.endedAt);
  const waits = phase.lines.map(({ arrivedAt }, index) =>
    Math.max(0, arrivedAt - (index === 0 ? phase.begunAt : (ends[index - 1] ?? arrivedAt))),
  );
  const chip = writeCycles * cyclesOfUs(bench.state.cycleUs);
  const window = writeCycles * cyclesOfUs(part.pageBytes.value > 1 ? (part.loadWindowMaxUs?.value ?? 0) : 0);
  const link = waits.reduce((sum, wait) => sum + wait, 0) + phase.lastAnswerCycles;
  const firmwareCycles = phase.endedAt - phase.begunAt - chip - window - link;
  return {
    chipMs: msOfCycles(chip),
    windowMs: msOfCycles(window),
    linkMs: msOfCycles(link),
    firmwareMs: msOfCycles(firmwareCycles),
  };
}

function burnedSince(session: Session, cyclesBefore: number): Burned {
  const { bench, lines, pins } = session;
  const phase = lines.phase('write');
  if (!phase) throw new Error('nothing was written');
  const writeCycles = bench.writeCycles - cyclesBefore;
  return {
    writeMs: msOfPhase(phase),
    limitMs: (writeCycles * bench.state.cycleUs) / 1000,
    spent: spentOn(session, phase, writeCycles),
    writeCycles,
    violations: bench.violations,
    pins,
  };
}

/** Writes bytes from cell 0 on with a window of `window` blocks; no reading before or after. */
export async function writeOnly(session: Session, bytes: Uint8Array, window?: number): Promise<Burned> {
  const size = session.part.pageBytes.value === 1 ? session.writer.introduction.cells : session.part.pageBytes.value;
  const blocks = Array.from({ length: bytes.length / size }, (_, i) => ({
    address: i * size,
    bytes: bytes.subarray(i * size, (i + 1) * size),
  }));
  session.lines.restart();
  const before = session.bench.writeCycles;
  const outcomes = await session.writer.writeBlocks(blocks, { window });
  if (outcomes.some((o) => o.kind !== 'written')) throw new Error('a block did not take');
  return burnedSince(session, before);
}

export interface WholeJob extends Burned {
  /** Sums and reads before the first write. */
  readonly planMs: number;
  /** From the first line of the job to the last page's answer. */
  readonly toLastAnswerMs: number;
  readonly verifyMs: number;
  /** From the first line of the job to the answer of the last read of the verify. */
  readonly wholeMs: number;
  readonly verified: boolean;
}

/** The job of `romkiln burn`: sums, keep, write, read back. */
export async function wholeJob(
  session: Session,
  bytes: Uint8Array,
  { keep = true, range }: { keep?: boolean; range?: Range } = {},
): Promise<WholeJob> {
  const { part, writer, lines, bench } = session;
  const image: Image = imageOfBytes('bench', bytes);
  const all = range ?? wholeRange(part.cells);
  lines.restart();
  const before = bench.writeCycles;
  const plan = await planBurn(writer, part, image, { range: all, keep });
  const sums = lines.phase('sum');
  const reads = lines.phase('read');
  lines.restart();
  const outcome = await burn(writer, part, image, plan, 'discarded', { range: all });
  const begunAt = sums!.begunAt;
  const burned = burnedSince(session, before);
  const write = lines.phase('write')!;
  const verify = lines.phase('read')!;
  return {
    ...burned,
    planMs: msOfCycles((reads ?? sums!).endedAt - begunAt),
    toLastAnswerMs: msOfCycles(write.endedAt - begunAt),
    verifyMs: msOfPhase(verify),
    wholeMs: msOfCycles(verify.endedAt - begunAt),
    verified: outcome.verified,
  };
}
