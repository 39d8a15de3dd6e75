// A difference as facts for programs, the same in every command: {"bytes", "runs": [{"from","to","wanted","actual"}], ...}.
import type { Difference } from '../image/difference.js';

export const differencesFacts = (d: Difference): object => ({
  bytes: d.bytes,
  runs: d.runs,
  compared: d.compared,
  undefinedCells: d.undefinedCells,
  missingCells: d.missingCells,
  byBit: d.byBit,
  byAddressLine: d.byAddressLine,
});
