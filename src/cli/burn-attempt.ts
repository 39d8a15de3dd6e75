// One burn of several: outputs of its own, what came of it, and the line that closes all of them.
import { printable } from '../ground/byte-text.js';
import { ToolError, ToolErrors } from '../ground/errors.js';
import { exit, worstExit } from '../ground/exit.js';
import { flagOption, type Invocation } from './command.js';
import { sayErrors } from './error-text.js';
import type { Output, World } from './world.js';

/** Carries out what was prepared; returns the exit number. */
export type PreparedBurn = () => Promise<number>;

export interface SetBurn {
  /** The ROM, or the port where every port gets the same. */
  readonly name: string;
  /** Null where the only port there is gets used. */
  readonly port: string | null;
  /** Finds all that can be found without a word to the writer. */
  prepare(invocation: Invocation): Promise<PreparedBurn>;
}

/** An output whose lines begin with a name, so that several writers can be told apart. A moving line would be torn: plain lines. */
const named = (output: Output, name: string): Output => ({
  isTerminal: false,
  columns: output.columns,
  write: (text) => output.write(text.replace(/^(?=.)/gm, `${name}: `)),
});

const messageOf = (error: unknown): string =>
  error instanceof ToolErrors || error instanceof ToolError
    ? error.message.split('\n').join(' ')
    : 'a fault of romkiln';

const whyOf = (ended: number): string =>
  ended === exit.interrupted ? 'interrupted' : ended === exit.refused ? 'not verified' : 'see above';

export class BurnAttempt {
  readonly #texts: string[] = [];
  readonly #invocation: Invocation;
  readonly #json: boolean;
  /** Null until it has ended, well or not. */
  exit: number | null = null;
  why: string | null = null;
  /** It may have written something. */
  begun = false;

  /** `apart`: every line begins with the port, because others speak at the same time. */
  constructor(
    { world, options, ...rest }: Invocation,
    readonly burn: SetBurn,
    apart: boolean,
  ) {
    const { port } = burn;
    this.#json = flagOption(options, 'json');
    const collected: Output = { ...world.stdout, isTerminal: false, write: (text) => void this.#texts.push(text) };
    const own: World = {
      ...world,
      stdout: this.#json ? collected : apart ? named(world.stdout, port ?? burn.name) : world.stdout,
      stderr: apart ? named(world.stderr, port ?? burn.name) : world.stderr,
    };
    this.#invocation = { ...rest, world: own, options: { ...options, port: port ?? undefined } };
  }

  /** Null where it failed; then that is said. */
  async prepare(): Promise<PreparedBurn | null> {
    return this.burn.prepare(this.#invocation).catch((error: unknown) => this.#fail(error));
  }

  async carryOut(prepared: PreparedBurn): Promise<void> {
    this.begun = true;
    try {
      this.exit = await prepared();
      if (this.exit !== exit.done) this.why = whyOf(this.exit);
    } catch (error) {
      this.#fail(error);
    }
  }

  #fail(error: unknown): null {
    this.exit = sayErrors(error, this.#invocation.world, { json: this.#json, command: this.#invocation.command });
    this.why = messageOf(error);
    return null;
  }

  /** For --json: what it would have said alone, with its port and exit; null where it said nothing. */
  get facts(): object | null {
    if (this.#texts.length === 0) return null;
    const { port } = this.burn;
    return { ...(port !== null && { port }), exit: this.exit, ...(JSON.parse(this.#texts.join('')) as object) };
  }
}

/** Says how many were burned and why the others were not; with --json one object that holds the object of each. Returns the worst exit. */
export function closeBurns({ world, options, command }: Invocation, attempts: readonly BurnAttempt[]): number {
  const done = attempts.filter((a) => a.exit === exit.done).length;
  if (flagOption(options, 'json')) {
    const burns = attempts.flatMap((a) => a.facts ?? []);
    world.stdout.write(`${JSON.stringify({ command, done, of: attempts.length, burns })}\n`);
  } else {
    const failed = attempts
      .filter((a) => a.why !== null)
      .map((a) => `; ${a.burn.name} failed: ${a.why!.replace(/\.$/, '')}`);
    const left = attempts.filter((a) => !a.begun && a.why === null).map((a) => a.burn.name);
    const rest = left.length > 0 ? `; not begun: ${left.join(', ')}` : '';
    const word = flagOption(options, 'dryRun') ? 'looked at' : 'burned';
    const count = `${done} of ${attempts.length} ${word}${attempts.some((a) => a.begun) ? '' : ', nothing was written'}`;
    world.stdout.write(`${printable(count + failed.join('') + rest)}.\n`);
  }
  return worstExit(attempts.map((a) => a.exit ?? exit.done));
}
