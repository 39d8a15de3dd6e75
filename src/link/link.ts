// What the rest of the tool sees of a serial port: lines out, lines in, the rate, and the clock its deadlines run on.
import type { Clock } from '../ground/clock.js';

/**
 * One open port. Knows no protocol: a line is whatever ends with LF, as latin1 text without the LF.
 * A port is used once: after `closed` has been called it is never usable again.
 */
export interface Link {
  /** The path as the user named it. */
  readonly path: string;
  /** Deadlines on this port run on this clock (real time, or the emulated bench's own). */
  readonly clock: Clock;
  /**
   * Sends text (latin1), LF included by the caller. Resolves when the port took it, rejects with link.gone when the
   * port is lost; may also never settle when the device hangs, so every exchange has its own deadline.
   */
  send(text: string): Promise<void>;
  /** Sets who hears the lines; one listener, replaced by the next call. Lines over `lineMax` are dropped and told as `overlong`. */
  listen(listener: LinkListener): void;
  /** Changes the port's own rate; bytes on their way at that moment may be lost. */
  setRate(baud: number): Promise<void>;
  /**
   * Takes DTR and RTS away and gives them back: most boards tie one of them to their reset. A port without such lines does
   * nothing, and says nothing.
   */
  restartBoard?(): Promise<void>;
  /** Drops the port. Safe to call twice. */
  close(): Promise<void>;
}

export interface LinkListener {
  /** Everything as it comes, before it is cut into lines; for what does not talk in lines. */
  bytes?(bytes: Uint8Array): void;
  line(text: string): void;
  /** A line longer than the bound was dropped up to its LF. */
  overlong(): void;
  /** The port is gone: unplugged, or closed by us. Called once. */
  closed(reason: Error | null): void;
}

export interface LinkOptions {
  readonly baud: number;
  /** Longest line kept, in characters. */
  readonly lineMax: number;
}

/** Opens a port by its path: `/dev/...`, `COM3`, or `emulated:<bench file>` in the opener that cli puts together. */
export type OpenLink = (path: string, options: LinkOptions) => Promise<Link>;
