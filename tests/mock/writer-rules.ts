// The demands of firmware-protocol.md that the mock writer keeps, each as one value, so that each can be broken on purpose.
import { crc32IsoHdlc } from '../../src/ground/check-sums.js';
import { protocolCounts, protocolTimes, windowOf } from '../../src/protocol/limits.js';
import type { RequestWord } from '../../src/protocol/request-words.js';

export const lawfulRules = {
  /** What is made of a line, without its LF, before it is read. */
  hear: (line: string): string => line,
  /** What is made of an answer, without its LF, before it is sent; null keeps it back. */
  say: (line: string): string | null => line,
  answersEmptyLine: false,
  /** Answers to one line that is too long. */
  refusalsOfLongLine: 1,
  longestLine: (limit: number): number => limit,
  refusalOfLongLine: 0x2,
  greets: true,
  greetingSeq: 0,
  steadyNonce: true,
  answerDelayMs: 0.1,
  needsChip: true,
  takesRate: (baud: number, rates: readonly number[]): boolean => rates.includes(baud),
  changesRate: true,
  rateTrialMs: protocolTimes.rateTrialMs as number,
  idleRateMs: protocolTimes.idleRateMs as number,
  holdIsWork: false,
  seesEmptySocket: true,
  refusesBeyondChip: true,
  dataBytes: protocolCounts.dataBytes as number,
  sumsPerLine: protocolCounts.sumsPerLine as number,
  sumOf: crc32IsoHdlc,
  countsPages: true,
  refusesCrookedSums: true,
  refusesWhileStreaming: true,
  stopsStream: true,
  refusesWhileBlocksWait: true,
  identifiesWhileBlocksWait: true,
  window: windowOf,
  keepsOrder: true,
  /** A refused block leaves the next ones alone. */
  eachBlockOnItsOwn: true,
  absorbsRepeats: true,
  rememberedBlocks: protocolCounts.rememberedBlocks as number,
  /** Whether a block that ended so is remembered; null: it is in the chip. */
  remembers: (_refusal: number | null): boolean => true,
  /** Whether carrying out this request clears the memory of blocks. */
  clearsMemory: (word: RequestWord): boolean => !['write', 'protect', 'unprotect', 'who', 'stop'].includes(word),
  memoryLooksAtCheck: true,
  refusesBadBlocks: true,
  compares: true,
  skipsEqualCells: true,
  waitsOutLimit: true,
  dropsBlocksAtStop: true,
  saysDropped: true,
  refusesCodesWithoutProtection: true,
  sendsCodes: true,
  sendsPrefix: true,
  refusesUnsafeHold: true,
  drivesHeldData: true,
  pullsHeldData: true,
};

export type WriterRules = typeof lawfulRules;
