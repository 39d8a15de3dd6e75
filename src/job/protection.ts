// Software data protection switched on or off. A chip that does not know the codes, or gets them at other addresses, takes
// them as data: so the whole chip is kept before, and compared afterwards.
import { wholeChipCycles } from '../chip/chip-table.js';
import type { Part } from '../chip/part.js';
import { exit } from '../ground/exit.js';
import type { Difference } from '../image/difference.js';
import { imageOfBytes } from '../image/image.js';
import { wholeRange } from '../image/range.js';
import type { Writer } from '../writer/writer.js';
import type { JobEnd } from './broken-off.js';
import { type Reading, readRuns } from './read-runs.js';
import { type Job, type Records, recordedWrite } from './recorded-write.js';
import { verify } from './verify.js';

export interface ProtectionOptions {
  readonly on: boolean;
  readonly before: Reading;
  readonly after: Reading;
}

export interface ProtectionSwitched {
  /** What changed in the chip: nothing, where it took the codes as codes. */
  readonly difference: Difference;
  readonly keptId: string;
}

/** The pages that changed, each written once at least. */
function pagesChanged(part: Part, before: Uint8Array, after: Uint8Array): number[] {
  const pages = new Set<number>();
  before.forEach((byte, cell) => void (after[cell] !== byte && pages.add(Math.floor(cell / part.pageBytes.value))));
  return [...pages];
}

/** Rejects with BrokenOff when the writer is lost on the way: then any cell may have changed. */
export async function switchProtection(
  writer: Writer,
  records: Records,
  job: Job,
  { on, before, after }: ProtectionOptions,
): Promise<ProtectionSwitched> {
  const { part, command } = job;
  const range = wholeRange(part.cells);
  const old = await readRuns(writer, [{ from: 0, count: part.cells }], before);
  const bytes = old[0]!.bytes;
  const writing = { ...job, content: `the codes of ${command}`, pagesAtMost: `0-${wholeChipCycles(part) - 1}` };
  return recordedWrite(records, writing, old, async (_, keptId) => {
    await (on ? writer.protect() : writer.unprotect());
    const { difference, readback } = await verify(writer, part, imageOfBytes('before', bytes), { range, ...after });
    const end: JobEnd = {
      cycles: pagesChanged(part, bytes, readback.bytes),
      outcome: { kind: 'codes-sent', changed: difference.bytes },
      exit: difference.same ? exit.done : exit.refused,
    };
    return { result: { difference, keptId: keptId! }, end };
  });
}
