// The one error class of the tool: a stable dotted code, typed facts, and from one table the sentence, the note and the exit.
import { chipErrors } from './errors/chip.js';
import { cliErrors } from './errors/cli.js';
import { emulatorErrors } from './errors/emulator.js';
import { imageErrors } from './errors/image.js';
import { jobErrors } from './errors/job.js';
import { linkErrors } from './errors/link.js';
import { loaderErrors } from './errors/loader.js';
import { planErrors } from './errors/plan.js';
import { protocolErrors } from './errors/protocol.js';
import { suspectErrors } from './errors/suspect.js';
import { writerErrors } from './errors/writer.js';

/** The table of every error a user can meet, in one section a room. */
const errorTable = {
  ...chipErrors,
  ...imageErrors,
  ...planErrors,
  ...protocolErrors,
  ...linkErrors,
  ...loaderErrors,
  ...writerErrors,
  ...jobErrors,
  ...suspectErrors,
  ...emulatorErrors,
  ...cliErrors,
} as const;

type Table = typeof errorTable;
export type ErrorCode = keyof Table;
/** The facts that belong to one error code. */
export type FactsOf<Code extends ErrorCode> = Parameters<Table[Code]['says']>[0];

/**
 * An error that a user can understand: `code` is stable, `message` is one sentence with the facts,
 * `note` says what would have been right, `exit` is the number the process ends with.
 */
export class ToolError<Code extends ErrorCode = ErrorCode> extends Error {
  readonly code: Code;
  readonly facts: FactsOf<Code>;
  readonly note: string;
  readonly exit: number;

  constructor(code: Code, facts: FactsOf<Code>, options?: ErrorOptions) {
    // One row of the table knows its own facts; the union of all rows cannot say so to the compiler.
    const row = errorTable[code] as unknown as { exit: number; says(f: unknown): string; note(f: unknown): string };
    super(row.says(facts), options);
    this.name = 'ToolError';
    this.code = code;
    this.facts = facts;
    this.note = row.note(facts);
    this.exit = row.exit;
  }

  /** True when `error` is a ToolError with this code; narrows the facts. */
  static is<C extends ErrorCode>(error: unknown, code: C): error is ToolError<C> {
    return error instanceof ToolError && error.code === code;
  }
}

/** Several errors found together, said all at once. The worst exit counts. */
export class ToolErrors extends Error {
  constructor(readonly errors: readonly ToolError[]) {
    super(errors.map((e) => e.message).join('\n'));
    this.name = 'ToolErrors';
  }
}
