// Software data protection switched on or off, in one conversation.
import type { Part } from '../chip/part.js';
import { ToolError } from '../ground/errors.js';
import { wholeRange } from '../image/range.js';
import { BrokenOff } from '../job/broken-off.js';
import { type ProtectionSwitched, switchProtection } from '../job/protection.js';
import { rangesText } from '../report/burn-text.js';
import { type Errand, jobOf, recordsOf } from './records.js';
import { type Target, withChip } from './session.js';
import { type Surroundings, shown } from './surroundings.js';

/** What cells may hold after a writing that broke off. */
export const wholeChipInDoubt = (
  code: 'job.in-doubt' | 'job.rig-broken-off',
  part: Part,
  { keptId }: BrokenOff,
): ToolError => new ToolError(code, { cells: rangesText([wholeRange(part.cells)], part.cells), keptId });

export const protectChip = (
  around: Surroundings,
  target: Target,
  { on, ...errand }: Errand & { readonly on: boolean },
): Promise<ProtectionSwitched> =>
  withChip(around, target, {}, (session) => {
    const readings = { before: shown(around, 'reading-before'), after: shown(around, 'comparing') };
    const job = jobOf(errand, session, null);
    return switchProtection(session.writer, recordsOf(around), job, { on, ...readings }).catch((error: unknown) => {
      if (!(error instanceof BrokenOff)) throw error;
      around.tell({ kind: 'aside', error: wholeChipInDoubt('job.in-doubt', session.part, error) });
      throw error.reason;
    });
  });
