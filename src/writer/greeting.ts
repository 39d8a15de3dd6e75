// Finding the writer on a port: the greeting of a board that restarts, the answer of one that does not (firmware-protocol.md section 2).
import { ToolError } from '../ground/errors.js';
import { protocolTimes, protocolVersion } from '../protocol/limits.js';
import type { WriterLine } from '../protocol/message.js';
import { refusalNumber } from '../protocol/refusals.js';
import { searchLine, searchLineOfVersion1, searchSeq } from '../protocol/search-line.js';
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
 * Listens, then says the search line again and again until a good `writer` line comes. Resolves with null when none came in
 * time; rejects with writer.older or writer.newer for a writer of another protocol, or when the port is lost.
 */
export function findWriter(conversation: Conversation, search: Search): Promise<Found | null> {
  const { clock, path } = conversation.link;
  return new Promise((resolve, reject) => {
    const begin = clock.now();
    let settled = false;
    /** Asked once by the name of version 1. */
    let isNamed = false;
    let cancel = (): void => {};

    const finish = (settle: () => void): void => {
      settled = true;
      cancel();
      conversation.hear(null);
      settle();
    };
    const askNow = (): void => {
      cancel();
      // Rounded: sums of fractions of a millisecond may fall short of their limit.
      if (Math.round(clock.now() - begin) >= search.limitMs) {
        conversation.lost = true;
        finish(() => resolve(null));
        return;
      }
      conversation.transmit(searchLine, false);
      cancel = clock.after(protocolTimes.searchEveryMs, askNow);
    };
    const stopStream = (): void => {
      conversation.transmit(conversation.compose({ word: 'stop' }).line, false);
      askNow();
    };

    conversation.hear({
      answer(answer) {
        if (answer.word === 'writer' && (answer.seq === 0 || answer.seq === searchSeq)) {
          const { word: _, seq, ...writer } = answer;
          if (writer.version === protocolVersion) {
            conversation.writer = writer;
            finish(() => resolve({ writer, fresh: seq === 0 }));
          } else {
            finish(() => reject(otherVersion(path, writer)));
          }
        } else if (answer.word === 'no' && answer.seq === searchSeq) {
          // It still streams for a host that is gone, or for us, who missed the lines.
          if (answer.refusal === refusalNumber.busy) stopStream();
          else if (answer.refusal === refusalNumber.unknownWord && !isNamed) {
            isNamed = true;
            conversation.transmit(searchLineOfVersion1, false);
          }
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

const otherVersion = (path: string, { version, build }: WriterLine): ToolError =>
  new ToolError(version < protocolVersion ? 'writer.older' : 'writer.newer', {
    path,
    version,
    wanted: protocolVersion,
    build,
  });

/**
 * After a silence in which nothing at all arrived: is the writer still there? Only the search line is said until it speaks,
 * since it may have been reset, and its boot loader listens now. Resolves with true when it is the same as before, with
 * false when nobody answered `asks` times; rejects with Restarted when it has begun anew.
 */
export async function stillThere(conversation: Conversation, asks: number): Promise<boolean> {
  const { nonce } = conversation.writer!;
  const found = await findWriter(conversation, { listenMs: 0, limitMs: asks * protocolTimes.searchEveryMs });
  if (found && found.writer.nonce !== nonce) throw new Restarted();
  return found !== null;
}
