// The first words with a writer that is to be tried: its greeting if one comes, and who it says it is.
import { ToolError } from '../ground/errors.js';
import { decodeAnswer } from '../protocol/codec.js';
import { protocolTimes } from '../protocol/limits.js';

import type { Answer, WriterLine } from '../protocol/message.js';
import { searchLine } from '../protocol/search-line.js';
import { type Conversation, mend } from './conversation.js';

type WriterAnswer = Answer & { readonly word: 'writer' };

/** The greeting if one comes, then whoever answers `who` (firmware-protocol.md section 2). Throws cli.interrupted soon after `signal`. */
export async function meetWriter(
  talk: Conversation,
  signal?: AbortSignal,
): Promise<{ writer: WriterLine; greeting: WriterAnswer | null }> {
  let heard = 0;
  /** What comes before the first good `writer` line is noise. */
  const hearWriter = async (withinMs: number): Promise<WriterAnswer | null> => {
    for (;;) {
      const line = await talk.hear(withinMs);
      if (line === null) return null;
      heard++;
      const decoded = decodeAnswer(mend(line));
      if (decoded.good && decoded.message.word === 'writer') return decoded.message;
    }
  };
  const startMs = talk.link.clock.now();
  let greeting = await hearWriter(protocolTimes.greetingWaitMs);
  while (talk.link.clock.now() - startMs < protocolTimes.giveUpMs) {
    if (signal?.aborted) throw new ToolError('cli.interrupted', { doing: 'waiting for the writer' });
    await talk.tell(searchLine);
    const writer = await hearWriter(protocolTimes.searchEveryMs);
    if (!writer) continue;
    if (writer.seq === 0) greeting = writer;
    await talk.drain(writer.silenceMs);
    return { writer, greeting };
  }
  throw new ToolError('conform.no-writer', { path: talk.link.path, heard });
}
