// What the writer streams about a range: the bytes of cells, and the sums of pages. What a damaged line lost is asked for again.
import { crc32IsoHdlc } from '../ground/check-sums.js';
import { ToolError } from '../ground/errors.js';
import { answerFields } from '../protocol/codec.js';
import { protocolCounts } from '../protocol/limits.js';
import { cellMs } from './chip-choice.js';
import type { Conversation } from './conversation.js';
import { ask, defaultRetries } from './exchange.js';

export interface StreamOptions {
  /** Called with the number of cells heard so far. */
  readonly onProgress?: ((done: number) => void) | undefined;
  readonly signal?: AbortSignal | undefined;
}

interface Run {
  readonly from: number;
  readonly count: number;
}

/** Runs of zeros in `flags[begin..end)`, as index and count. */
function gaps(flags: Uint8Array, begin: number, end: number): Run[] {
  const found: Run[] = [];
  for (let from = flags.indexOf(0, begin); from >= 0 && from < end; ) {
    const next = flags.indexOf(1, from);
    const to = next < 0 || next > end ? end : next;
    found.push({ from, count: to - from });
    from = flags.indexOf(0, to);
  }
  return found;
}

const garbled = (conversation: Conversation, run: Run): ToolError =>
  new ToolError('writer.garbled', {
    path: conversation.link.path,
    from: conversation.addressText(run.from),
    to: conversation.addressText(run.from + run.count - 1),
  });

/** Reads `count` cells from `from`; resolves only with bytes that the writer's CRC-32 over them confirms. */
export async function readRange(
  conversation: Conversation,
  from: number,
  count: number,
  { onProgress, signal }: StreamOptions,
): Promise<Uint8Array> {
  const bytes = new Uint8Array(count);
  const heard = new Uint8Array(count);
  let done = 0;

  /** Reads cells by their place in `bytes` until their sum fits. */
  const readRun = async (run: Run): Promise<void> => {
    for (let attempt = 0; attempt <= defaultRetries; attempt++) {
      const end = run.from + run.count;
      done -= heard.subarray(run.from, end).reduce((sum, flag) => sum + flag, 0);
      heard.fill(0, run.from, end);
      const answer = await ask(
        conversation,
        { word: 'read', address: from + run.from, count: run.count },
        {
          signal,
          chipMs: protocolCounts.dataBytes * cellMs,
          onLine(line) {
            if (line.word !== 'data') return;
            const place = line.address - from;
            if (place < run.from || place + line.bytes.length > end) return;
            if (heard[place] === 0) done += line.bytes.length;
            bytes.set(line.bytes, place);
            heard.fill(1, place, place + line.bytes.length);
            onProgress?.(done);
          },
        },
      );
      const missing = gaps(heard, run.from, end);
      if (missing[0]?.count === run.count) continue;
      for (const gap of missing) await readRun(gap);
      const sum = answer.word === 'ok' ? answerFields('read', answer.fields)?.sum : undefined;
      if (sum === crc32IsoHdlc(bytes.subarray(run.from, end))) return;
    }
    throw garbled(conversation, { from: from + run.from, count: run.count });
  };

  await readRun({ from: 0, count });
  return bytes;
}

/** CRC-32 of every page of a range, computed by the writer; `from` and `count` are multiples of `page`. */
export async function sumRange(
  conversation: Conversation,
  from: number,
  count: number,
  page: number,
  { onProgress, signal }: StreamOptions,
): Promise<number[]> {
  const pages = count / page;
  const sums = new Array<number>(pages).fill(0);
  const heard = new Uint8Array(pages);
  let done = 0;
  for (let attempt = 0; attempt <= defaultRetries; ) {
    const missing = gaps(heard, 0, pages);
    if (missing.length === 0) return sums;
    const before = done;
    for (const run of missing) {
      await ask(
        conversation,
        { word: 'sum', address: from + run.from * page, count: run.count * page, page },
        {
          signal,
          chipMs: protocolCounts.sumsPerLine * page * cellMs,
          onLine(line) {
            if (line.word !== 'sums') return;
            const place = (line.address - from) / page;
            for (const [i, sum] of line.sums.entries()) {
              // Nothing is kept of pages that were heard before, or that nobody asked for: those have no flag.
              if (heard[place + i] !== 0) continue;
              sums[place + i] = sum;
              heard[place + i] = 1;
              done++;
            }
            onProgress?.(done * page);
          },
        },
      );
    }
    // As long as something comes through, it is worth asking for the rest.
    if (done === before) attempt++;
  }
  throw garbled(conversation, { from, count });
}
