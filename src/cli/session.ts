// One conversation with a writer about one chip: chosen, opened, greeted, brought to its rate, told the chip, and closed.
import type { Part } from '../chip/part.js';
import type { EmulatedBench } from '../emulator/emulated-bench.js';
import { ToolError, ToolErrors } from '../ground/errors.js';
import { requireChip } from '../job/presence.js';
import { firmwareLimits, greetingBaud } from '../protocol/limits.js';
import type { RateMemory } from '../writer/line-rate.js';
import type { Writer, WriterEvent } from '../writer/writer.js';
import { flagOption, type Invocation } from './command.js';
import { unlessInterrupted } from './interruption.js';
import { type ChosenPort, choosePort, namedPart, openChosen, seatedPart } from './open-port.js';
import { makeProgress, type Progress } from './progress.js';
import { numberOption } from './values.js';

/** Bits of an address register. */
export const linesOfRegister = 8;

export interface Session {
  readonly writer: Writer;
  readonly port: ChosenPort;
  readonly progress: Progress;
  /** Null for a real port. */
  readonly bench: EmulatedBench | null;
}

export interface ChipSession extends Session {
  readonly part: Part;
  /** Why what is read is not all the content of a chip, which was said; null where it is. */
  readonly doubt: ToolError | null;
}

/** What a command works on. */
export interface Target {
  readonly part: Part;
  readonly port: ChosenPort;
}

export interface SessionNeeds {
  readonly protection?: 'codes' | 'prefix';
  /**
   * `told`: a line that nobody drives, or a chip that stays busy, is said and not refused (the reading is evidence all the
   * same). `unasked`: the command asks for itself. Default `required`.
   */
  readonly presence?: 'required' | 'told' | 'unasked';
}

/** The rate that worked on a port last time, one small file for all ports. */
function rateMemory(invocation: Invocation, path: string): RateMemory {
  const { files, dataFolder } = invocation.world;
  const file = `${dataFolder}/rates.json`;
  const read = (): Record<string, unknown> => {
    try {
      const value: unknown = JSON.parse(Buffer.from(files.readIfThere(file) ?? []).toString('utf8'));
      return typeof value === 'object' && value !== null ? (value as Record<string, unknown>) : {};
    } catch {
      // What cannot be read is forgotten: the rate is then tried anew.
      return {};
    }
  };
  return {
    recall() {
      const known = read()[path];
      return typeof known === 'number' ? known : null;
    },
    remember(baud) {
      const known = read();
      if (known[path] === baud) return;
      try {
        files.makeFolder(dataFolder);
        files.replace(file, `${JSON.stringify({ ...known, [path]: baud })}\n`);
      } catch (error) {
        // What cannot be written is not remembered; no job ends for that.
        if (!ToolError.is(error, 'cli.file-unwritable')) throw error;
      }
    },
  };
}

async function setRate(invocation: Invocation, writer: Writer, port: ChosenPort, rate: number | null): Promise<void> {
  if (rate === null) await writer.chooseRate(undefined, rateMemory(invocation, port.path));
  else if (rate !== greetingBaud) await writer.setRate(rate);
}

const eventText = (event: WriterEvent): string => {
  switch (event.kind) {
    case 'restarted':
      return `The writer restarted (${event.restarts} so far); the chip is chosen again and the work goes on.`;
    case 'found-again':
      return `The writer fell silent at "${event.request}" and was found again.`;
    case 'rate-fell-back':
      return `The line now runs at ${event.baud} baud.`;
  }
};

/** On a bench without faults a violation is a fault of our firmware (or of the part's row): said loudly, never hidden behind a good result. */
function reportViolations(bench: EmulatedBench | null, progress: Progress): void {
  if (bench === null || bench.violations.length === 0 || bench.state.faults.length > 0) return;
  const rules = [...new Set(bench.violations.map((v) => v.rule))];
  progress.say(`The emulated chip saw its data sheet broken ${bench.violations.length} times: ${rules.join('; ')}.`);
}

async function converse<Result>(
  invocation: Invocation,
  port: ChosenPort,
  part: Part | null,
  rate: number | null,
  work: (session: Session) => Promise<Result>,
): Promise<Result> {
  const { world, options } = invocation;
  const progress = makeProgress(world, flagOption(options, 'quiet'));
  const { openWriter } = await import('../writer/writer.js');
  const opened = await openChosen(world, port, part, { baud: greetingBaud, lineMax: firmwareLimits.line }, (t) =>
    progress.say(t),
  );
  // openWriter closes the link itself when it finds no writer.
  const { interrupt } = world;
  const opening = openWriter(opened.link, { onEvent: (event) => progress.say(eventText(event)) });
  const writer = await unlessInterrupted(interrupt, 'waiting for the writer', opening).catch(async (error: unknown) => {
    if (interrupt.aborted) await opened.link.close();
    throw error;
  });
  try {
    await unlessInterrupted(interrupt, 'trying the rates', setRate(invocation, writer, port, rate));
    return await work({ writer, port, progress, bench: opened.bench });
  } catch (error) {
    // A bench whose file cannot be written drops its port; the file is the cause, the port only the symptom.
    throw opened.bench?.saveError ?? error;
  } finally {
    progress.end();
    await writer.close();
    reportViolations(opened.bench, progress);
  }
}

/** A conversation that needs no chip in the socket. `fixedRate`: stay at this rate whatever the options say. */
export async function withWriter<Result>(
  invocation: Invocation,
  work: (session: Session) => Promise<Result>,
  fixedRate: number | null = null,
): Promise<Result> {
  const rate = numberOption(invocation.options, 'rate', '--rate', 300, 4_000_000);
  const port = await choosePort(invocation.world, invocation.options);
  return converse(invocation, port, namedPart(invocation.world, invocation.options), fixedRate ?? rate, work);
}

/** A plan often names a family; a bench knows which member is seated, and its figures are the truer ones. */
const planned = (planPart: Part | null, seated: Part | null): Part | null =>
  planPart === null || (seated !== null && planPart.members?.includes(seated.name)) ? seated : planPart;

/**
 * What the words of a command say about chip, port and whatever `also` reads with the part at hand (null where the part
 * is not known). Everything wrong is said at once, before a port is opened.
 */
export async function prepare<Also>(
  invocation: Invocation,
  planPart: Part | null,
  also: (part: Part | null) => Also | Promise<Also>,
): Promise<Target & { readonly also: Also }> {
  const { world, options, command } = invocation;
  const wrong: ToolError[] = [];
  const collect = async <Value>(read: () => Value | Promise<Value>): Promise<Value | null> => {
    try {
      return await read();
    } catch (error) {
      if (error instanceof ToolError) wrong.push(error);
      else if (error instanceof ToolErrors) wrong.push(...error.errors);
      else throw error;
      return null;
    }
  };
  await collect(() => numberOption(options, 'rate', '--rate', 300, 4_000_000));
  await collect(() => numberOption(options, 'registers', '--registers', 1, 3));
  const port = await collect(() => choosePort(world, options));
  const wrongBefore = wrong.length;
  const named = await collect(() => namedPart(world, options));
  const seated = port && !named ? await collect(() => seatedPart(world, port)) : null;
  const part = named ?? planned(planPart, seated);
  // The bench that was not named would know its part.
  const isBenchUnnamed = wrong.some((error) => ToolError.is(error, 'cli.no-bench-file'));
  if (part === null && wrong.length === wrongBefore && !isBenchUnnamed) {
    const why = 'the writer cannot see which part is in its socket.';
    wrong.push(new ToolError('cli.missing-option', { command, option: '--chip <part>', why }));
  }
  const found = await collect(() => also(part));
  if (wrong.length > 0) throw new ToolErrors(wrong);
  return { part: part!, port: port!, also: found! };
}

/** The registers must reach every address line; without a chain return only the builder knows how many there are. */
async function checkRegisters(invocation: Invocation, { writer, progress }: Session, part: Part): Promise<void> {
  const said = numberOption(invocation.options, 'registers', '--registers', 1, 3);
  const counted = await writer.registers();
  const fitted = counted === 0 ? said : counted;
  if (fitted === null) {
    progress.say(
      'The writer sees no chain return, so its address registers are not counted; --registers <n> says how many are fitted.',
    );
    return;
  }
  if (said !== null && said !== fitted)
    progress.say(`The writer counts ${fitted} address registers; what --registers says is not used.`);
  if (fitted * linesOfRegister < part.addressLines)
    throw new ToolError('job.too-few-registers', { chip: part.name, lines: part.addressLines, fitted });
}

/** What a reading shows of a chip that is not quite there; it is told where the reading itself is wanted. */
const seen = ['job.line-not-driven', 'job.still-busy'] as const;

/** A chip must drive every line of the bus before anything is said about it. Resolves with the doubt that was told. */
async function checkPresence(
  { world }: Invocation,
  { writer, progress }: Session,
  presence: NonNullable<SessionNeeds['presence']>,
): Promise<ToolError | null> {
  if (presence === 'unasked') return null;
  try {
    await requireChip(writer);
    return null;
  } catch (error) {
    const isSeen = seen.some((code) => ToolError.is(error, code));
    if (presence === 'required' || !(error instanceof ToolError) || !isSeen) throw error;
    progress.end();
    // Not progress: it is said with --quiet too.
    world.stderr.write(
      `romkiln: ${error.message}\n  What follows is not all the content of a chip.  [${error.code}]\n`,
    );
    return error;
  }
}

/** A conversation about a chip: registers counted, the part chosen, and a chip shown to drive the bus. */
export async function withChip<Result>(
  invocation: Invocation,
  { part, port }: Target,
  needs: SessionNeeds,
  work: (session: ChipSession) => Promise<Result>,
): Promise<Result> {
  const { chipChoice } = await import('../writer/chip-choice.js');
  const choice = chipChoice(part, needs.protection ? { protection: needs.protection } : {});
  const rate = numberOption(invocation.options, 'rate', '--rate', 300, 4_000_000);
  return converse(invocation, port, part, rate, async (session) => {
    await checkRegisters(invocation, session, part);
    await session.writer.chip(choice);
    const doubt = await checkPresence(invocation, session, needs.presence ?? 'required');
    return work({ ...session, part, doubt });
  });
}
