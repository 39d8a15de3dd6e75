// romkiln suspects --bench: questions about what the display or the lamps show, each the one that narrows most.
import { ToolError } from '../ground/errors.js';
import { exit } from '../ground/exit.js';
import { benchVerdictText, benchVerdictWords } from '../report/bench-session-text.js';
import {
  answer,
  type BenchSession,
  type BenchVerdict,
  nextQuestion,
  startSession,
  verdict,
} from '../suspect/bench-session.js';
import { readObservations } from '../suspect/observation-file.js';
import { circuitOfPlan } from '../suspect/plan-circuit.js';
import { flagOption, type Invocation, textOption } from './command.js';
import { loadPlan } from './source.js';

/** Observations are text; a file of another kind is one mistake, not one a line. Throws suspect.observation. */
function observedText(bytes: Uint8Array, file: string): string {
  const noText = new ToolError('suspect.observation', {
    place: { file, line: 1, column: 1 },
    problem: 'this is no text',
    right: 'A file of observations is text (UTF-8), one setting and what was seen there a line.',
  });
  // Small bytes are UTF-8 too, but nobody types them: an image may hold nothing else.
  if (bytes.some((byte) => byte < 0x09)) throw noText;
  try {
    return new TextDecoder('utf-8', { fatal: true }).decode(bytes);
  } catch {
    throw noText;
  }
}

/** The circuit of one ROM of the plan, with what a file already tells about it. */
async function begin({ world, operands, options }: Invocation): Promise<BenchSession> {
  const plan = await loadPlan(world, operands[0]!);
  const { buildPlan, romOf } = await import('../plan/plan.js');
  const rom = romOf(plan, textOption(options, 'rom') ?? undefined);
  const image = buildPlan(plan)[plan.roms.indexOf(rom)]!.image;
  const session = startSession(circuitOfPlan(plan, rom, image));
  const seen = textOption(options, 'seen');
  if (seen === null) return session;
  return readObservations(session, observedText(await world.readInput(seen), seen), seen);
}

const howToStop = 'Ctrl-D (on Windows Ctrl-Z, Enter) ends the questions.\n';

function howToAnswer({ circuit: { shows } }: BenchSession): string {
  if (shows.kind === 'lines')
    return `Type the lit lines with commas between, "none", or ? for don't know.\n${howToStop}`;
  const point = shows.hasPoint ? 'A lit point is a . behind its digit, as in 4. ' : '';
  return `Type the digits as you see them; [abg] for lit segments where it is no digit, "dark" for nothing, ? for don't know.\n${point}${howToStop}`;
}

/** Asks until nothing is left to ask or the person stops: what was answered till then, and whether all was. */
async function converse(
  { world }: Invocation,
  begun: BenchSession,
): Promise<{ session: BenchSession; isStopped: boolean }> {
  let session = begun;
  world.stderr.write(howToAnswer(session));
  for (let question = nextQuestion(session); question !== null; question = nextQuestion(session)) {
    const asked = session.circuit.shows.kind === 'digits' ? 'what does the display show' : 'which lines are lit';
    const text = await world.ask(`Set ${question.words}: ${asked}? `);
    if (text === null || world.interrupt.aborted) {
      // Nobody has ended the line of the question.
      world.stderr.write('\n');
      return { session, isStopped: true };
    }
    try {
      session = answer(session, question, text);
    } catch (error) {
      // A slip of the fingers is said and asked again, nothing is lost.
      if (!ToolError.is(error, 'suspect.answer')) throw error;
      world.stderr.write(`${error.message}\n  ${error.note}\n`);
    }
  }
  return { session, isStopped: false };
}

/** What a healthy board would not have shown is a fault that was found, whichever it is. */
const exitOf = (v: BenchVerdict): number => (v.healthyAgrees || v.answers === 0 ? exit.done : exit.differs);

export async function suspectsOnTheBench(invocation: Invocation): Promise<number> {
  const { world, options, command } = invocation;
  const json = flagOption(options, 'json');
  const begun = await begin(invocation);
  if (flagOption(options, 'next')) {
    const question = nextQuestion(begun);
    const found = verdict(begun);
    if (json)
      world.stdout.write(
        `${JSON.stringify({ command, next: question?.words ?? null, verdict: benchVerdictWords(found, begun.circuit) })}\n`,
      );
    else world.stdout.write(question === null ? benchVerdictText(found, begun.circuit) : `${question.words}\n`);
    return question === null ? exitOf(found) : exit.done;
  }
  // Without --bench the file is all there is to know; with it the questions go on where the file ends.
  const { session, isStopped } = flagOption(options, 'bench')
    ? await converse(invocation, begun)
    : { session: begun, isStopped: false };
  const found = verdict(session);
  world.stdout.write(
    json
      ? `${JSON.stringify({ command, verdict: benchVerdictWords(found, begun.circuit) })}\n`
      : benchVerdictText(found, begun.circuit),
  );
  return isStopped ? exit.interrupted : exitOf(found);
}
