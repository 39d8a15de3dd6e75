// The world a command lives in: everything it may see or touch outside itself, handed in by bin or by a test.
import type { Clock } from '../ground/clock.js';
import type { Files } from '../ground/files.js';
import type { OpenLink } from '../link/link.js';

export interface Output {
  write(text: string): void;
  /** A terminal shows a moving progress line and colours; anything else gets plain lines. */
  readonly isTerminal: boolean;
  readonly columns: number;
}

/** A running program beside us, such as socat. */
export interface Neighbour {
  /** Sends bytes to its standard input. */
  write(bytes: Uint8Array): void;
  onBytes(listener: (bytes: Uint8Array) => void): void;
  /** Settles when it ends, with its exit number and what it said on standard error. */
  readonly ended: Promise<{ readonly exit: number | null; readonly stderr: string }>;
  stop(): void;
}

export interface World {
  readonly stdout: Output;
  readonly stderr: Output;
  /** Asks one question on the terminal; null when input has ended. */
  ask(question: string): Promise<string | null>;
  readonly files: Files;
  /** The bytes of an input that a person named: also a pipe or a device, as they come. Rejects with cli.interrupted at Ctrl-C. */
  readInput(path: string): Promise<Uint8Array>;
  readonly clock: Clock;
  /** The time of day, for the keep and the book. */
  wallTime(): Date;
  /** A number nobody can foresee, for names that must not clash. */
  randomSeed(): number;
  readonly environment: Readonly<Record<string, string | undefined>>;
  /** Where the keep, the book and the default bench live: the platform's folder for a user's data. */
  readonly dataFolder: string;
  /** A real serial port. */
  readonly openSerial: OpenLink;
  /** Keeps other processes off a bench file; throws link.busy with who holds it. The returned function lets go. */
  lock(path: string): Promise<() => Promise<void>>;
  listPorts(): Promise<readonly PortFacts[]>;
  /** The firmware's .hex text, as committed. */
  firmwareHex(): string;
  /** The plain data of a plan written as a module, which runs in a process of its own. Rejects with cli.plan-module. */
  loadModule(path: string): Promise<unknown>;
  /** Starts another program; null where it is not installed. */
  start(program: string, args: readonly string[]): Neighbour | null;
  /** Aborted by the first Ctrl-C (or SIGTERM, or a closed terminal); the second ends the process. */
  readonly interrupt: AbortSignal;
}

export interface PortFacts {
  readonly path: string;
  readonly about: string;
}
