// The bench as a serial port: a binding for @serialport/stream, so that the host's code is the one it uses with real ports.
import { ToolError } from '../ground/errors.js';
import type { OpenPortOptions } from '../link/open-port.js';
import { BenchClock } from './bench-clock.js';
import type { EmulatedBench } from './emulated-bench.js';
import { cyclesOfMs, msOfCycles } from './time-units.js';

type Binding = OpenPortOptions['binding'];
type OpenOptions = Parameters<Binding['open']>[0];
type OpenedPort = Awaited<ReturnType<Binding['open']>>;

/** @serialport/stream takes a rejection with this mark for a closing port, any other for a lost one. */
const canceled = (): Error => Object.assign(new Error('Port is not open'), { canceled: true });

/** A board that is not reset by opening has been running for a while. */
const runningBefore = cyclesOfMs(500);

class BenchPort implements OpenedPort {
  isOpen = true;
  #received: Buffer[] = [];
  #wake: (() => void) | null = null;
  #lost: Error | null = null;

  constructor(
    readonly openOptions: Required<OpenOptions>,
    private readonly bench: EmulatedBench,
    private readonly clock: BenchClock,
    private readonly closed: () => void,
  ) {}

  /** Bytes have come from the writer. */
  push(bytes: Uint8Array): void {
    this.#received.push(Buffer.from(bytes));
    this.#go();
  }

  /** The port is gone. */
  lose(why: Error): void {
    this.#lost ??= why;
    this.#go();
  }

  async read(buffer: Buffer, offset: number, length: number): Promise<{ buffer: Buffer; bytesRead: number }> {
    for (;;) {
      this.#check();
      const head = this.#received[0];
      if (head) {
        const bytesRead = head.copy(buffer, offset, 0, Math.min(length, head.length));
        if (bytesRead === head.length) this.#received.shift();
        else this.#received[0] = head.subarray(bytesRead);
        return { buffer, bytesRead };
      }
      await new Promise<void>((resolve) => {
        this.#wake = resolve;
      });
    }
  }

  async write(buffer: Buffer): Promise<void> {
    this.#check();
    this.bench.send(buffer);
  }

  async update(options: { baudRate: number }): Promise<void> {
    this.#check();
    this.openOptions.baudRate = options.baudRate;
    this.#received = [];
    this.bench.line.setHostBaud(options.baudRate, this.bench.cycles);
  }

  async set(): Promise<void> {
    this.#check();
  }

  async get(): Promise<{ cts: boolean; dsr: boolean; dcd: boolean; lowLatency: boolean }> {
    this.#check();
    return { cts: true, dsr: true, dcd: true, lowLatency: false };
  }

  async getBaudRate(): Promise<{ baudRate: number }> {
    this.#check();
    return { baudRate: this.openOptions.baudRate };
  }

  async flush(): Promise<void> {
    this.#check();
    this.#received = [];
    this.bench.line.flush(this.bench.cycles);
  }

  async drain(): Promise<void> {
    this.#check();
    const until = this.bench.line.busyUntil();
    if (until === null) return;
    await new Promise<void>((resolve) => {
      this.clock.after(msOfCycles(until - this.bench.cycles), resolve);
    });
  }

  async close(): Promise<void> {
    if (!this.isOpen) throw canceled();
    this.isOpen = false;
    this.#received = [];
    this.#go();
    this.closed();
  }

  #check(): void {
    if (!this.isOpen) throw canceled();
    if (this.#lost) throw this.#lost;
  }

  #go(): void {
    const wake = this.#wake;
    this.#wake = null;
    wake?.();
  }
}

/** A bench's port: the binding to open it with, and the clock that its deadlines must run on. */
export interface BenchBinding {
  readonly binding: Binding;
  readonly clock: BenchClock;
}

/**
 * The binding for one bench; `open` rejects with link.missing while the cable is out and link.busy while it is open.
 * A bench has one binding for its whole life: make it once.
 */
export function benchBinding(bench: EmulatedBench): BenchBinding {
  let port: BenchPort | null = null;
  const clock = new BenchClock(
    bench,
    () => {
      const bytes = bench.line.take(bench.cycles);
      if (bytes.length === 0 || !port) return false;
      port.push(bytes);
      return true;
    },
    (error) => port?.lose(error as Error),
  );
  bench.whenUnplugged(() => port?.lose(new Error('the cable was pulled')));
  const open = async (options: OpenOptions): Promise<BenchPort> => {
    if (!bench.pluggedIn) throw new ToolError('link.missing', { path: bench.path });
    if (port) throw new ToolError('link.busy', { path: bench.path, holder: null });
    const all = { dataBits: 8, lock: true, stopBits: 1, parity: 'none', hupcl: true } as const;
    const off = { rtscts: false, xon: false, xoff: false, xany: false };
    port = new BenchPort({ ...all, ...off, ...options }, bench, clock, () => {
      port = null;
      try {
        bench.rest();
      } catch {
        // A port closes whatever happens; the bench keeps why it could not be saved.
      }
    });
    bench.line.setHostBaud(options.baudRate, bench.cycles);
    if (bench.resetOnOpen) bench.resetWriter();
    else
      for (const end = bench.cycles + runningBefore; bench.cycles < end; bench.line.take(bench.cycles))
        bench.advance(end);
    return port;
  };
  return {
    clock,
    binding: { open, list: async () => [{ path: bench.path, manufacturer: 'emulated', ...unknown }] },
  };
}

const unknown = {
  serialNumber: undefined,
  pnpId: undefined,
  locationId: undefined,
  productId: undefined,
  vendorId: undefined,
};
