// The host's end of the mock writer's line: bytes put together to lines, and the moment the cable is pulled.
import { bytesOfText } from '../../src/ground/byte-text.js';
import { ToolError } from '../../src/ground/errors.js';
import type { Link, LinkListener } from '../../src/link/link.js';
import type { VirtualClock } from './virtual-clock.js';

export class MockPort implements Link {
  usable = true;
  private listener: LinkListener | null = null;
  private held = '';
  private dropping = false;

  constructor(
    readonly path: string,
    public baud: number,
    private readonly lineMax: number,
    readonly clock: VirtualClock,
    private readonly toWriter: (bytes: Uint8Array, baud: number) => void,
  ) {}

  async send(text: string): Promise<void> {
    if (!this.usable) throw this.gone();
    this.toWriter(bytesOfText(text), this.baud);
  }

  listen(listener: LinkListener): void {
    this.listener = listener;
  }

  async setRate(baud: number): Promise<void> {
    if (!this.usable) throw this.gone();
    this.baud = baud;
  }

  async close(): Promise<void> {
    this.end(null);
  }

  /** The cable is pulled. */
  lose(): void {
    this.clock.hostHeard();
    this.end(this.gone());
  }

  deliver(bytes: Uint8Array): void {
    for (const byte of bytes) {
      if (!this.usable) return;
      if (byte === 10) this.lineEnds();
      else if (this.held.length < this.lineMax) this.held += String.fromCharCode(byte);
      else if (!this.dropping) {
        this.dropping = true;
        this.clock.hostHeard();
        this.listener?.overlong();
      }
    }
  }

  private lineEnds(): void {
    const line = this.held;
    const whole = !this.dropping;
    this.held = '';
    this.dropping = false;
    if (!whole) return;
    this.clock.hostHeard();
    this.listener?.line(line);
  }

  private end(reason: Error | null): void {
    if (!this.usable) return;
    this.usable = false;
    this.listener?.closed(reason);
  }

  private gone(): ToolError {
    return new ToolError('link.gone', { path: this.path });
  }
}
