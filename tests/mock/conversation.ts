// A host as plain as can be, for tests of the mock writer: says lines and collects what comes back.
import { pause } from '../../src/ground/clock.js';
import type { Link } from '../../src/link/link.js';
import { composeLine } from '../../src/protocol/line.js';
import { type MockWriter, type MockWriterOptions, mockWriter } from './mock-writer.js';

export interface Conversation {
  readonly mock: MockWriter;
  readonly link: Link;
  /** Lines heard and not yet taken. */
  readonly heard: string[];
  /** How the port ended, when it did. */
  ended(): Error | null | undefined;
  /** Waits, then takes all lines heard. */
  wait(ms: number): Promise<string[]>;
  /** Sends lines that lack only their LF, waits, takes what came. */
  say(lines: readonly string[], ms?: number): Promise<string[]>;
  /** One request in words; the answers without their check sequences. */
  ask(text: string, ms?: number): Promise<string[]>;
}

export const chip28c256 = { cells: 0x8000, page: 0x40, cycleUs: 5000, codes: true } as const;

export async function converse(options: Partial<MockWriterOptions> = {}): Promise<Conversation> {
  return converseWith(mockWriter({ chip: chip28c256, ...options }));
}

export async function converseWith(mock: MockWriter): Promise<Conversation> {
  const link = await mock.open('mock', { baud: 115200, lineMax: 1000 });
  const heard: string[] = [];
  let end: Error | null | undefined;
  link.listen({
    line: (text) => heard.push(text),
    overlong: () => heard.push('(overlong)'),
    closed: (reason) => {
      end = reason;
    },
  });
  const wait = async (ms: number): Promise<string[]> => {
    await pause(link.clock, ms);
    return heard.splice(0);
  };
  const say = async (lines: readonly string[], ms = 100): Promise<string[]> => {
    await link.send(lines.map((line) => `${line}\n`).join(''));
    return wait(ms);
  };
  const ask = async (text: string, ms?: number): Promise<string[]> => {
    const [seq, word, ...fields] = text.split(' ');
    const line = composeLine(Number.parseInt(seq!, 16), word!, fields);
    return (await say([line.slice(0, -1)], ms)).map((answer) => answer.slice(0, -5));
  };
  return { mock, link, heard, ended: () => end, wait, say, ask };
}
