// What the process of a plan module hands to the one that asked for the plan.
import type { RecordedPlan } from '../plan/module-value.js';

/** Where the asking process reads: after standard input, output and error. */
export const answerChannel = 3;
/** Nothing is ever said here: it closes when the asking process is gone, however that ended. */
export const lifeChannel = 4;

export interface ModuleFault {
  readonly message: string;
  /** In the module or in one that it imports; null where no place is known. */
  readonly place: { readonly file: string; readonly line: number; readonly column: number } | null;
}

/** Serialized by node:v8. */
export type ModuleAnswer = { readonly plan: RecordedPlan } | { readonly fault: ModuleFault };
