// A writing that broke off: why, and what it leaves behind.
import { ToolError } from '../ground/errors.js';
import { exit } from '../ground/exit.js';
import type { Outcome } from './outcome.js';

/** What a job has to say of itself in the book. */
export interface JobEnd {
  /** The page (the cell, where there is no page mode) of each write cycle. */
  readonly cycles: readonly number[];
  readonly skipped?: number;
  readonly outcome: Outcome;
  readonly exit: number;
}

/** Thrown by whatever writes a chip; `reason` is what it would have thrown if nobody had to know what it leaves. */
export class BrokenOff extends Error {
  readonly end: JobEnd;
  /** What was there before, in the keep; known once the recorded path has seen it. */
  keptId: string | null = null;

  constructor(
    readonly reason: unknown,
    cycles: readonly number[],
    putBack = false,
  ) {
    super('the writing broke off');
    const ended = reason instanceof ToolError ? reason.exit : exit.ourFault;
    this.end = { cycles, outcome: { kind: 'broken-off', putBack }, exit: ended };
  }
}
