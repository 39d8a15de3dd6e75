// A writer opened on a scripted link: the test says what the writer says.
import type { ToolError } from '../../src/ground/errors.js';
import type { ChipChoice } from '../../src/protocol/message.js';
import { openWriter, type Writer, type WriterEvent } from '../../src/writer/writer.js';
import { pageChoice } from './against-mock.js';
import { ScriptedLink } from './scripted-link.js';

export interface OnScript {
  readonly link: ScriptedLink;
  readonly writer: Writer;
  readonly events: WriterEvent[];
}

/** It greeted by itself, and nothing was asked so far: the next request has number 01. */
export async function greeted(): Promise<OnScript> {
  const link = new ScriptedLink();
  const events: WriterEvent[] = [];
  const opening = openWriter(link, { onEvent: (event) => events.push(event) });
  await link.greet(0x77);
  return { link, writer: await opening, events };
}

/** A chip is chosen: the next request has number 02. */
export async function withChip(choice: ChipChoice = pageChoice): Promise<OnScript> {
  const on = await greeted();
  const choosing = on.writer.chip(choice);
  await on.link.reply('01 ok');
  await choosing;
  on.link.heard();
  return on;
}

/** The error that a promise rejects with, looked at later. */
export const failure = (promise: Promise<unknown>): Promise<ToolError> =>
  promise.then(
    () => Promise.reject(new Error('it succeeded')),
    (error: ToolError) => error,
  );

/** Answers every echo that was sent since the last look, as often as one comes. Resolves with the bytes of each. */
export async function answerEchoes(link: ScriptedLink, most = Infinity): Promise<string[]> {
  const seen: string[] = [];
  for (let lines = link.heard(); lines.length > 0 && seen.length < most; lines = link.heard()) {
    for (const line of lines) {
      const [seq, word, bytes] = line.split(' ');
      if (word !== 'echo') throw new Error(`an echo was expected: ${line}`);
      seen.push(bytes!);
      await link.reply(`${seq} ok ${bytes}`);
    }
  }
  return seen;
}

/** Brings both ends to a rate. Requests so far: the first has number 01, the last 05. */
export async function atRate(baud: number): Promise<OnScript> {
  const on = await greeted();
  const changing = on.writer.setRate(baud);
  on.link.heard();
  await on.link.reply('01 ok');
  await on.link.pass(5);
  await answerEchoes(on.link);
  await changing;
  on.link.ratesSet.length = 0;
  return on;
}
