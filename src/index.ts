// The library's public names. The command line is made of the same pieces.

export { findPart, membersOf, parts, strictestMember, wholeChipMs } from './chip/chip-table.js';
export type { Part, Sourced } from './chip/part.js';
export { parseWiringFault, spellWiringFault, type WiringFault } from './chip/wiring-fault.js';
export { runConformance } from './conform/conformance.js';
export { readBenchState, saveBenchState } from './emulator/bench-file.js';
export { openBenchLink } from './emulator/bench-link.js';
export { applyFault, type BenchState, describeBench, newBenchState } from './emulator/bench-state.js';
export { EmulatedBench } from './emulator/emulated-bench.js';
export type { Clock } from './ground/clock.js';
export { ToolError, ToolErrors } from './ground/errors.js';
export type { Files } from './ground/files.js';
export { type Difference, differenceOf } from './image/difference.js';
export { type Image, imageOfBytes } from './image/image.js';
export { sha256Of } from './image/image-sums.js';
export { parseRange, type Range, wholeRange } from './image/range.js';
export { readImage } from './image/read-image.js';
export { writeImage } from './image/write-image.js';
export { type BurnOutcome, burn } from './job/burn.js';
export { type BurnPlan, planBurn } from './job/burn-plan.js';
export { openKeep } from './job/keep.js';
export { blankCheck, dump, verify } from './job/verify.js';
export type { Link, OpenLink } from './link/link.js';
export { openSerial } from './link/open-serial.js';
export { listPorts } from './link/port-list.js';
export { buildPlan, checkPlan, lookAt, planOfObject, readPlan, romOf } from './plan/plan.js';
export { chipChoice } from './writer/chip-choice.js';
export { openWriter, type Writer } from './writer/writer.js';
