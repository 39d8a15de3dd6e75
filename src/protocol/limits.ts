// The figures of firmware-protocol.md that both ends know beforehand, and the limits that a writer announces.
import type { WriterLine } from './message.js';

/** The version of the line protocol that this tool speaks. */
export const protocolVersion = 2;

/** Both ends start at this rate (firmware-protocol.md section 2). */
export const greetingBaud = 115200;

/** What a writer announces, apart from the nonce, which is another at every start. */
export type WriterLimits = Omit<WriterLine, 'nonce'>;

/** The limits of the firmware in this project (firmware-protocol.md section 2, Limits). */
export const firmwareLimits: WriterLimits = {
  version: protocolVersion,
  line: 0x190,
  store: 0x400,
  slots: 0x10,
  cells: 0x40,
  echo: 0x30,
  silenceMs: 0x1f4,
  rates: [0x1c200, 0x3d090, 0x7a120, 0xf4240],
  build: 'firmware-2.0.0',
};

/** The times of firmware-protocol.md, all in milliseconds. */
export const protocolTimes = {
  /** Section 2: a writer is silent and leaves the chip alone for so long after a reset. */
  quietAfterResetMs: 25,
  /** Section 2: the host waits so long for the greeting ... */
  greetingWaitMs: 300,
  /** ... then asks so often ... */
  searchEveryMs: 250,
  /** ... until so much time has passed. */
  giveUpMs: 6000,
  /** Section 4, `rate`: without a good line at the new rate the writer goes back to the greeting rate. */
  rateTrialMs: 500,
  /** Section 2: a writer at another rate that hears no good line goes back to the greeting rate. */
  idleRateMs: 3000,
} as const;

/** The window's counts (firmware-protocol.md sections 3 and 4). */
export const protocolCounts = {
  /** Outcomes of `write` that a writer remembers. */
  rememberedBlocks: 16,
  /** Most bytes in one `data` line. */
  dataBytes: 0xc0,
  /** Most sums in one `sums` line. */
  sumsPerLine: 8,
} as const;

/** Most blocks outstanding for pages of this size (cell by cell counts as the announced `cells`). */
export const windowOf = (limits: Pick<WriterLimits, 'slots' | 'store' | 'cells'>, page: number): number =>
  Math.max(1, Math.min(limits.slots, Math.floor(limits.store / (page === 1 ? limits.cells : page))));

/** The number after `seq`: up by one, and from FF to 01. */
export const nextSeq = (seq: number): number => (seq >= 0xff ? 1 : seq + 1);
