// Finding the writer on a port: the greeting of a board that restarts, the answer of one that does not (firmware-protocol.md section 2).
import { ToolError } from '../ground/errors.js';
import { protocolTimes, protocolVersion } from '../protocol/limits.js';
import type { WriterLine } from '../protocol/message.js';
import { refusalNumber } from '../protocol/refusals.js';
import { type Conversation, Restarted } from './conversation.js';

export interface Search {
  /** How long nothing is said, so that a restarting board can greet. */
  readonly listenMs: number;
  /** When the search ends, from its beginning. */
  readonly limitMs: number;
}

export interface Found {
  readonly writer: WriterLine;
  /** It greeted by itself: it has just started and has no work in hand. */
  readonly fresh: boolean;
}

export const firstSearch: Search = { listenMs: protocolTimes.greetingWaitMs, limitMs: protocolTimes.giveUpMs };

/**
 * Listens, then asks `identify` again and again until a good `writer` line comes. Resolves with null when none came in
 * time; rejects with writer.version for a writer of another protocol, or when the port is lost.
 */
export function findWriter(conversation: Conversation, search: Search): Promise<Found | null> {
  const { clock, path } = conversation.link;
  return new Promise((resolve, reject) => {
    const begin = clock.now();
    const asked = new Set<number>();
    let settled = false;
    let cancel = (): void => {};

    const finish = (settle: () => void): void => {
      settled = true;
      cancel();
      conversation.hear(null);
      settle();
    };
    const askNow = (): void => {
      cancel();
      if (clock.now() - begin >= search.limitMs) {
        finish(() => resolve(null));
        return;
      }
      const { seq, line } = conversation.compose({ word: 'identify' });
      asked.add(seq);
      // The empty line ends whatever noise came before.
      conversation.transmit(`\n${line}`, false);
      cancel = clock.after(protocolTimes.identifyEveryMs, askNow);
    };
    const stopStream = (): void => {
      conversation.transmit(conversation.compose({ word: 'stop' }).line, false);
      askNow();
    };

    conversation.hear({
      answer(answer) {
        if (answer.word === 'writer' && (answer.seq === 0 || asked.has(answer.seq))) {
          const { word: _, seq, ...writer } = answer;
          if (writer.version === protocolVersion) {
            conversation.writer = writer;
            finish(() => resolve({ writer, fresh: seq === 0 }));
          } else {
            const { version, build } = writer;
            finish(() => reject(new ToolError('writer.version', { path, version, wanted: protocolVersion, build })));
          }
        } else if (answer.word === 'no' && asked.delete(answer.seq) && answer.refusal === refusalNumber.busy) {
          // It still streams for a host that is gone.
          stopStream();
        }
      },
      lineRefused() {},
      garbled() {},
      // A restart while we search: the writer is asked who it is anyway.
      failed: (error) => error instanceof Restarted || finish(() => reject(error)),
    });
    if (!settled) cancel = clock.after(search.listenMs, askNow);
  });
}
