// Errors of the room writer: code, exit, sentence, note.
import { exit } from '../exit.js';
import { countOf } from '../quantity.js';
import { row } from './row.js';

const lookAtTheCable = () =>
  'Check the cable and the supply of the writer, or give an adapter that is too slow a lower rate (--rate 115200), then repeat the command.';

export interface OtherVersion {
  readonly path: string;
  readonly version: number;
  readonly wanted: number;
  readonly build: string;
}
const speaksAnother = (f: OtherVersion): string =>
  `The writer on ${f.path} speaks version ${f.version} of the protocol, this tool version ${f.wanted}.`;

export const writerErrors = {
  'writer.silent': row<{ path: string; seconds: number }>(
    exit.noConversation,
    (f) => `Nothing answers on ${f.path}: ${f.seconds} s of silence.`,
    () => 'Is it the right port (`romkiln ports`), and does the board hold the romkiln firmware (firmware/README.md)?',
  ),
  'writer.noise': row<{ path: string; baud: number; lines: number }>(
    exit.noConversation,
    (f) => `On ${f.path} there is only noise: ${countOf(f.lines, 'line')}, none of them good. Wrong rate?`,
    (f) => `A writer talks at ${f.baud} baud when it starts. Another program on the board also sounds like this.`,
  ),
  'writer.older': row<OtherVersion>(
    exit.noConversation,
    speaksAnother,
    (f) =>
      `It runs ${f.build || 'an unnamed build'}, which is older: \`romkiln install\` puts the firmware of this tool into it.`,
  ),
  'writer.newer': row<OtherVersion>(
    exit.noConversation,
    speaksAnother,
    (f) => `It runs ${f.build || 'an unnamed build'}, which is newer: a newer romkiln talks with it.`,
  ),
  'writer.lost': row<{ path: string; request: string }>(
    exit.noConversation,
    (f) => `The writer on ${f.path} stopped answering (last asked: ${f.request}).`,
    lookAtTheCable,
  ),
  'writer.restarted-too-often': row<{ path: string; restarts: number }>(
    exit.noConversation,
    (f) => `The writer on ${f.path} restarted ${f.restarts} times during this job.`,
    () => 'Its supply is probably too weak, or the reset line picks up noise: 100 nF at every chip, a short cable.',
  ),
  'writer.garbled': row<{ path: string; from: string; to: string }>(
    exit.noConversation,
    (f) => `The cells ${f.from} to ${f.to} did not come over ${f.path} unharmed, however often they were asked for.`,
    () => 'Use a shorter cable or a lower rate, for example --rate 115200.',
  ),
  'writer.rate': row<{ path: string; baud: number; rates: readonly number[] }>(
    exit.noConversation,
    (f) => `${f.baud} baud does not work with the writer on ${f.path}.`,
    (f) => `It offers ${f.rates.join(', ')}; 115200 always works.`,
  ),
  'writer.too-old': row<{ request: string; build: string }>(
    exit.refused,
    (f) => `The writer does not know the request "${f.request}" (${f.build}).`,
    () => 'Its firmware is too old for this: put the firmware that came with this tool into the board.',
  ),
  'writer.limit': row<{ limit: string; announced: number; needed: number; build: string }>(
    exit.refused,
    (f) =>
      `The writer (${f.build}) announces ${f.limit} ${f.announced}; to burn this part it must be at least ${f.needed}.`,
    () => 'Nothing was written. firmware-protocol.md, section 2, says what each limit means.',
  ),
  'writer.not-driven': row<{ address: string }>(
    exit.refused,
    (f) => `No chip drives the data lines (tried at ${f.address}).`,
    () => 'Is the chip seated, the right way round, and supplied? Otherwise /CE or /OE is open.',
  ),
  'writer.never-ready': row<{ address: string }>(
    exit.refused,
    (f) => `The chip did not end its write cycle in time (at ${f.address}).`,
    () => 'Is --chip the part in the socket? Otherwise the chip is broken.',
  ),
  'writer.no-protection': row<{ chip: string }>(
    exit.refused,
    (f) => `${f.chip} has no software data protection.`,
    () => 'On such a part the codes would be ordinary writes, so they are not sent.',
  ),
  'writer.unsafe-hold': row<Record<never, never>>(
    exit.usage,
    () => 'These levels are not held: they could write the chip or fight its outputs.',
    () => '/WE low needs /CE high, and data is driven only with /OE high.',
  ),
  'writer.stopped': row<Record<never, never>>(
    exit.interrupted,
    () => 'Stopped as asked.',
    () => 'Repeat the command to do the rest.',
  ),
  'writer.refused': row<{ request: string; refusal: number; name: string; fields: readonly string[] }>(
    exit.refused,
    (f) =>
      `The writer refused "${f.request}": ${f.name} (${[f.refusal.toString(16).toUpperCase(), ...f.fields].join(' ')}).`,
    () => 'Run `romkiln conform` to see whether this writer keeps to the protocol.',
  ),
};
