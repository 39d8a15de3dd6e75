// One conversation with a writer about one chip: opened, greeted, brought to its rate, told the chip, and closed.
import type { Part } from '../chip/part.js';
import type { EmulatedBench } from '../emulator/emulated-bench.js';
import { ToolError } from '../ground/errors.js';
import { requireChip } from '../job/presence.js';
import { greetingBaud } from '../protocol/limits.js';
import type { Writer } from '../writer/writer.js';
import { unlessInterrupted } from './interruption.js';
import type { ChosenPort } from './port-choice.js';
import { openChosen } from './port-opening.js';
import { rateMemory } from './rate-memory.js';
import { rethrowSilence } from './silent-board.js';
import type { Surroundings } from './surroundings.js';

/** Bits of an address register. */
export const linesOfRegister = 8;

/** A writer that is spoken to. */
export interface Line {
  readonly port: ChosenPort;
  /** The fixed rate of the link; null: the fastest that works. */
  readonly rate: number | null;
}

/** What a task works on. */
export interface Target extends Line {
  readonly part: Part;
  /** Address registers fitted, as the person says; null where nothing was said. */
  readonly registers: number | null;
}

export interface Session {
  readonly writer: Writer;
  readonly port: ChosenPort;
  /** Null for a real port. */
  readonly bench: EmulatedBench | null;
}

export interface ChipSession extends Session {
  readonly part: Part;
  /** Why what is read is not all the content of a chip, which was told; null where it is. */
  readonly doubt: ToolError | null;
}

export interface SessionNeeds {
  readonly protection?: 'codes' | 'prefix';
  /**
   * `told`: a line that nobody drives, or a chip that stays busy, is told and not refused (the reading is evidence all the
   * same). `unasked`: the task asks for itself. Default `required`.
   */
  readonly presence?: 'required' | 'told' | 'unasked';
}

/** On a bench without faults a violation is a fault of our firmware (or of the part's row): told loudly, never hidden behind a good result. */
function tellViolations(around: Surroundings, bench: EmulatedBench | null): void {
  if (bench === null || bench.violations.length === 0 || bench.state.faults.length > 0) return;
  const rules = [...new Set(bench.violations.map((v) => v.rule))];
  around.tell({ kind: 'violations', count: bench.violations.length, rules });
}

async function bringToRate(around: Surroundings, writer: Writer, port: ChosenPort, rate: number | null): Promise<void> {
  if (rate === null) await writer.chooseRate(undefined, rateMemory(around, port.path));
  else if (rate !== greetingBaud) await writer.setRate(rate);
}

/** A conversation that needs no chip in the socket. `part`: what an emulated bench is made with on first use. */
export async function withWriter<Result>(
  around: Surroundings,
  { port, rate }: Line,
  part: Part | null,
  work: (session: Session) => Promise<Result>,
): Promise<Result> {
  const { openWriter } = await import('../writer/writer.js');
  const { link, bench } = await openChosen(around, port, part);
  // openWriter closes the link itself when it finds no writer.
  const { interrupt } = around;
  const opening = openWriter(link, { onEvent: (event) => around.tell({ kind: 'writer', event }) });
  const writer = await unlessInterrupted(interrupt, 'waiting for the writer', opening).catch(async (error: unknown) => {
    if (interrupt.aborted) await link.close();
    return rethrowSilence(around, port, error);
  });
  try {
    await unlessInterrupted(interrupt, 'trying the rates', bringToRate(around, writer, port, rate));
    return await work({ writer, port, bench });
  } catch (error) {
    // A bench whose file cannot be written drops its port; the file is the cause, the port only the symptom.
    if (bench?.saveError) throw bench.saveError;
    await writer.close();
    return await rethrowSilence(around, port, error);
  } finally {
    around.progressEnds();
    await writer.close();
    tellViolations(around, bench);
  }
}

/** The registers must reach every address line; without a chain return only the builder knows how many there are. */
async function checkRegisters(around: Surroundings, writer: Writer, { part, registers: said }: Target): Promise<void> {
  const counted = await writer.registers();
  const fitted = counted === 0 ? said : counted;
  if (fitted === null) {
    around.tell({ kind: 'registers-unknown' });
    return;
  }
  if (said !== null && said !== fitted) around.tell({ kind: 'registers-counted', counted: fitted });
  if (fitted * linesOfRegister < part.addressLines)
    throw new ToolError('job.too-few-registers', { chip: part.name, lines: part.addressLines, fitted });
}

/** What a reading shows of a chip that is not quite there; it is told where the reading itself is wanted. */
const seen = ['job.line-not-driven', 'job.still-busy'] as const;

/** A chip must drive every line of the bus before anything is said about it. Resolves with the doubt that was told. */
async function checkPresence(
  around: Surroundings,
  writer: Writer,
  presence: NonNullable<SessionNeeds['presence']>,
): Promise<ToolError | null> {
  if (presence === 'unasked') return null;
  try {
    await requireChip(writer);
    return null;
  } catch (error) {
    const isSeen = seen.some((code) => ToolError.is(error, code));
    if (presence === 'required' || !(error instanceof ToolError) || !isSeen) throw error;
    around.tell({ kind: 'doubt', error });
    return error;
  }
}

/** A conversation about a chip: registers counted, the part chosen, and a chip shown to drive the bus. */
export async function withChip<Result>(
  around: Surroundings,
  target: Target,
  needs: SessionNeeds,
  work: (session: ChipSession) => Promise<Result>,
): Promise<Result> {
  const { part } = target;
  const { chipChoice } = await import('../writer/chip-choice.js');
  const choice = chipChoice(part, needs.protection ? { protection: needs.protection } : {});
  return withWriter(around, target, part, async (session) => {
    await checkRegisters(around, session.writer, target);
    await session.writer.chip(choice);
    const doubt = await checkPresence(around, session.writer, needs.presence ?? 'required');
    return work({ ...session, part, doubt });
  });
}
