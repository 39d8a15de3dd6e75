// What a task may touch, and whom it tells: handed in by the face that a person uses. A task prints nothing.
import type { Part } from '../chip/part.js';
import type { ConformanceResult } from '../conform/conformance.js';
import type { ToolError } from '../ground/errors.js';
import type { Files } from '../ground/files.js';
import type { BurnPlan } from '../job/burn-plan.js';
import type { OpenLink } from '../link/link.js';
import type { WriterEvent } from '../writer/writer.js';

/** Work that takes its time, for whoever shows how far it is. */
export type Stage =
  | 'reading'
  | 'reading-before'
  | 'reading-twice'
  | 'writing'
  | 'reading-back'
  | 'comparing'
  | 'comparing-before'
  | 'rules';

/** What a person should know while a task runs; its end is its result. */
export type Telling =
  | { readonly kind: 'writer'; readonly event: WriterEvent }
  | { readonly kind: 'new-bench'; readonly part: Part; readonly path: string }
  /** The writer cannot count its address registers, and nobody said how many there are. */
  | { readonly kind: 'registers-unknown' }
  /** It counts others than were said. */
  | { readonly kind: 'registers-counted'; readonly counted: number }
  /** The emulated chip saw its data sheet broken, on a bench without faults. */
  | { readonly kind: 'violations'; readonly count: number; readonly rules: readonly string[] }
  /** What is read now is not all the content of a chip. */
  | { readonly kind: 'doubt'; readonly error: ToolError }
  /** Something went wrong beside the result, or leaves the chip uncertain; where it ends the task, that follows. */
  | { readonly kind: 'aside'; readonly error: ToolError }
  | {
      readonly kind: 'burn-plan';
      readonly image: string;
      readonly part: Part;
      readonly port: string;
      readonly plan: BurnPlan;
    }
  | { readonly kind: 'rule'; readonly result: ConformanceResult }
  /** A test ended before its end, and the chip reads as before. */
  | { readonly kind: 'put-back' }
  /** It ended with the codes sent that protect a chip. */
  | { readonly kind: 'maybe-protected' };

export interface Surroundings {
  /** Files that people named. */
  readonly files: Files;
  /** The same for the data folder, whose files nobody named: an error says what they are. */
  readonly dataFiles: Files;
  readonly dataFolder: string;
  readonly openSerial: OpenLink;
  /** Keeps other processes off a bench file. The returned function lets go. */
  lock(path: string): Promise<() => Promise<void>>;
  listPorts(): Promise<readonly { readonly path: string }[]>;
  firmwareHex(): string;
  wallTime(): Date;
  /** Ends what goes on, in an orderly way. */
  readonly interrupt: AbortSignal;
  tell(telling: Telling): void;
  /** `done` of `total`. Cheap to call often. */
  progress(stage: Stage, done: number, total: number): void;
  /** Nothing is shown to be going on any more. */
  progressEnds(): void;
}

/** A reading or comparing of a task, as its room wants it. */
export const shown = (
  around: Surroundings,
  stage: Stage,
): { readonly signal: AbortSignal; onRead(done: number, total: number): void } => ({
  signal: around.interrupt,
  onRead: (done, total) => around.progress(stage, done, total),
});
