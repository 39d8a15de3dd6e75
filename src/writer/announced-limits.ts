// The limits that a writer announces are what the host works with; what cannot work within them is refused before the first write.
import { ToolError } from '../ground/errors.js';
import type { WriterLine } from '../protocol/message.js';

/** Characters of a `write` line at its longest, LF included: `FF write FFFFFF <base64> CCCC`. */
const writeLineOf = (bytes: number): number => 'FF write FFFFFF  CCCC\n'.length + 4 * Math.ceil(bytes / 3);

/**
 * Throws writer.limit where this writer cannot take a block of `bytes` in one line, as a part with pages of `page` bytes needs
 * it (1: cell by cell).
 */
export function requireRoomForBlock(writer: WriterLine, page: number, bytes: number): void {
  const limits = [
    { limit: page === 1 ? 'cells' : 'store', announced: page === 1 ? writer.cells : writer.store, needed: bytes },
    { limit: 'line', announced: writer.line, needed: writeLineOf(bytes) },
    { limit: 'slots', announced: writer.slots, needed: 1 },
  ];
  const short = limits.find(({ announced, needed }) => announced < needed);
  if (short) throw new ToolError('writer.limit', { ...short, build: writer.build });
}
