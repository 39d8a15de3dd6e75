// A Link over any binding of @serialport/stream: the native one or an emulated bench.
import type { BindingInterface } from '@serialport/bindings-cpp';
import type { ReadlineParser } from '@serialport/parser-readline';
import type { SerialPortStream } from '@serialport/stream';
import { type Clock, pause } from '../ground/clock.js';
import { ToolError } from '../ground/errors.js';
import { lineBound } from './line-bound.js';
import type { Link, LinkListener, LinkOptions } from './link.js';

export interface OpenPortOptions extends LinkOptions {
  readonly path: string;
  readonly binding: BindingInterface;
  readonly clock: Clock;
  /** Called once when the port has ended, however it ended; not when it could not be opened. */
  readonly ended?: () => void;
}

/** How long DTR and RTS stay away: long enough for the capacitor between DTR and RESET (100 nF and 10 k, common practice). */
const restartMs = 50;

/** A device may never report that it is closed (measured and reported for drains after lost writes). */
const closeLimitMs = 2000;

/**
 * Opens the port 8N1 without flow control and resolves when it is open; rejects with the binding's own error, or with
 * link.gone when the port vanished at once. Each object of @serialport/stream serves one session: after a failed write it
 * cannot be opened again, so a Link never reopens.
 */
export async function openPort(options: OpenPortOptions): Promise<Link> {
  // Loaded here, so that commands without a port start without the native addon.
  const { SerialPortStream } = await import('@serialport/stream');
  const { ReadlineParser } = await import('@serialport/parser-readline');
  const { path, baud, binding } = options;
  const stream = new SerialPortStream({ binding, path, baudRate: baud, autoOpen: false });
  const link = new StreamLink(stream, options, () => new ReadlineParser({ delimiter: '\n', encoding: 'latin1' }));
  await new Promise<void>((resolve, reject) => {
    stream.open((error) => (error ? reject(error) : resolve()));
  });
  return link;
}

const nobody: LinkListener = { line() {}, overlong() {}, closed() {} };

class StreamLink implements Link {
  readonly path: string;
  readonly clock: Clock;
  #listener: LinkListener = nobody;
  /** Set once, by the first close event; a stream may send two of them. */
  #ended = false;
  #closing: Promise<void> | null = null;

  // The listeners are there before the port opens: an `error` event without a listener ends the process.
  constructor(
    private readonly stream: SerialPortStream,
    private readonly options: OpenPortOptions,
    newParser: () => ReadlineParser,
  ) {
    this.path = options.path;
    this.clock = options.clock;
    const parserOfLines = () => newParser().on('data', (text: string) => this.#ended || this.#listener.line(text));
    let parser = parserOfLines();
    const bounded = lineBound(options.lineMax, {
      piece: (bytes) => void parser.write(bytes),
      restart: () => {
        parser = parserOfLines();
      },
      overlong: () => this.#listener.overlong(),
    });
    stream.on('data', (chunk: Buffer) => {
      if (this.#ended) return;
      this.#listener.bytes?.(chunk);
      bounded(chunk);
    });
    // What went wrong is told by the close that follows, and to whoever waits for the write.
    stream.on('error', () => {});
    stream.on('close', () => this.#end());
  }

  listen(listener: LinkListener): void {
    this.#listener = listener;
  }

  send(text: string): Promise<void> {
    return this.#whileOpen(
      (done) => void this.stream.write(text, 'latin1', done),
      (cause) => this.#gone(cause),
    );
  }

  setRate(baud: number): Promise<void> {
    return this.#whileOpen(
      (done) => this.stream.update({ baudRate: baud }, done),
      (cause) =>
        this.stream.isOpen ? new ToolError('link.rate', { path: this.path, baud }, { cause }) : this.#gone(cause),
    );
  }

  async restartBoard(): Promise<void> {
    const set = (on: boolean): Promise<void> =>
      new Promise((resolve) => {
        if (this.#ended || !this.stream.isOpen) resolve();
        else this.stream.set({ dtr: on, rts: on }, () => resolve());
      });
    await set(false);
    await pause(this.clock, restartMs);
    await set(true);
  }

  close(): Promise<void> {
    this.#closing ??= this.#close();
    return this.#closing;
  }

  async #close(): Promise<void> {
    // Never destroy(): it leaves the port open and its handle with the process.
    await new Promise<void>((resolve) => {
      if (!this.stream.isOpen) return resolve();
      const giveUp = this.clock.after(closeLimitMs, resolve);
      this.stream.close(() => {
        giveUp();
        resolve();
      });
    });
    this.#end();
  }

  /** On a port that is not open the stream would queue for an `open` that never comes. */
  #whileOpen(start: (done: (error?: Error | null) => void) => void, wrap: (cause: Error) => Error): Promise<void> {
    if (this.#ended || this.#closing || !this.stream.isOpen) return Promise.reject(this.#gone());
    return new Promise((resolve, reject) => {
      start((error) => (error ? reject(wrap(error)) : resolve()));
    });
  }

  #end(): void {
    if (this.#ended) return;
    this.#ended = true;
    this.options.ended?.();
    // The event's own argument cannot tell: after a failed write the first close carries no error.
    this.#listener.closed(this.#closing ? null : this.#gone());
  }

  #gone(cause?: Error): Error {
    return new ToolError('link.gone', { path: this.path }, { cause });
  }
}
