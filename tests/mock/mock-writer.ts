// A writer in plain TypeScript, as a port: the protocol, a chip, and whatever is to go wrong, all in virtual time.
import type { WiringFault } from '../../src/chip/wiring-fault.js';
import { bytesOfText } from '../../src/ground/byte-text.js';
import { ToolError } from '../../src/ground/errors.js';
import { seededRandom } from '../../src/ground/random.js';
import type { OpenLink } from '../../src/link/link.js';
import { firmwareLimits, type WriterLimits } from '../../src/protocol/limits.js';
import type { RequestWord } from '../../src/protocol/request-words.js';
import { type BrokenRule, brokenRules } from './broken-rules.js';
import { ChipBus } from './chip-bus.js';
import { type ChipWiring, chipWiring } from './chip-wiring.js';
import { isWireMishap, type Mishap, type Way, type WireMishap, type WriterMishap } from './mishap.js';
import { MockChip, type MockChipOptions } from './mock-chip.js';
import { MockFirmware } from './mock-firmware.js';
import { MockPort } from './mock-port.js';
import { type Turn, type VirtualClock, virtualClock } from './virtual-clock.js';
import { type Adapter, wire } from './wire.js';
import { lawfulRules, type WriterRules } from './writer-rules.js';

export interface MockWriterOptions {
  /** The chip in the socket; the same one can be handed to another mock writer later. */
  readonly chip: MockChip | MockChipOptions;
  readonly seed?: number;
  readonly wiring?: readonly WiringFault[];
  /** How late answers arrive, as USB adapters make them: fixed, or drawn from a range. Milliseconds. */
  readonly answerDelayMs?: number | readonly [number, number];
  /** The adapter that the line goes through. */
  readonly adapter?: Adapter;
  readonly mishaps?: readonly Mishap[];
  /** Demands of the protocol that this writer breaks on purpose. */
  readonly broken?: readonly BrokenRule[];
  /** What it announces in place of the project's firmware: an older version, a smaller store. */
  readonly limits?: Partial<WriterLimits>;
  /** Requests that it does not know though it should. */
  readonly lacks?: readonly RequestWord[];
  readonly registers?: number;
  /** Opening the port restarts the writer, as on most boards. Default true. */
  readonly resetsOnOpen?: boolean;
  readonly firstNonce?: number;
  /** The time it lives in; one of its own where none is handed in. */
  readonly clock?: VirtualClock;
  readonly turn?: Turn;
}

export interface MockWriter {
  /** Opens the one port of this writer, whatever its path is called. A port can be opened again after it was closed or lost. */
  readonly open: OpenLink;
  readonly clock: VirtualClock;
  /** The chip as it truly is. */
  readonly chip: MockChip;
  /** The program in the writer, to look at: rate, chosen chip, lines held. */
  readonly firmware: MockFirmware;
  /** Replaces what is still to go wrong; an empty list lifts all. */
  setMishaps(mishaps: readonly Mishap[]): void;
  setWiring(faults: readonly WiringFault[]): void;
  reset(): void;
  unplug(): void;
  /** Bytes that travelled so far, each way, lines heard and write cycles begun: the measures in which mishaps are placed. */
  counts(): { readonly toWriter: number; readonly toHost: number; readonly lines: number; readonly cycles: number };
}

export function mockWriter(options: MockWriterOptions): MockWriter {
  const random = seededRandom(options.seed ?? 1);
  const clock = options.clock ?? virtualClock(options.turn);
  const chip = options.chip instanceof MockChip ? options.chip : new MockChip(options.chip);
  const rules = rulesWithout(options.broken ?? []);
  let wiring: ChipWiring = chipWiring(options.wiring ?? [], random);
  let wireMishaps: Record<Way, readonly WireMishap[]> = { 'to-writer': [], 'to-host': [] };
  let writerMishaps: readonly WriterMishap[] = [];
  let port: MockPort | null = null;
  let lineCount = 0;
  let cycleCount = 0;

  const setMishaps = (mishaps: readonly Mishap[]): void => {
    const onTheWay = (way: Way) => mishaps.filter(isWireMishap).filter((mishap) => mishap.way === way);
    wireMishaps = { 'to-writer': onTheWay('to-writer'), 'to-host': onTheWay('to-host') };
    writerMishaps = mishaps.filter((mishap) => !isWireMishap(mishap));
  };
  setMishaps(options.mishaps ?? []);

  const firmware = new MockFirmware({
    clock,
    bus: new ChipBus(chip, () => wiring, clock),
    limits: { ...firmwareLimits, build: 'mock-1.0.0', ...options.limits },
    rules,
    random,
    registers: options.registers ?? 2,
    lacks: options.lacks ?? [],
    firstNonce: options.firstNonce,
    transmit: (text) => toHost.send(bytesOfText(text), firmware.baud),
    heard: (line) => {
      lineCount++;
      return strikeWriter(line);
    },
    cycleBegins: () => {
      cycleCount++;
      for (const mishap of writerMishaps) {
        if (mishap.kind === 'browns-out' && mishap.cycle === cycleCount) brownOut();
      }
    },
  });

  /** Mishaps on hearing a line. False: nothing is left to do with it. */
  const strikeWriter = (line: string): boolean => {
    let goesOn = true;
    for (const mishap of writerMishaps) {
      if (!('line' in mishap) || mishap.line !== lineCount) continue;
      if (mishap.kind === 'repeated') firmware.obey(line);
      if (mishap.kind === 'slow') firmware.slowMs = mishap.ms;
      if (mishap.kind === 'resets') reset();
      if (mishap.kind === 'hangs') firmware.hang();
      if (mishap.kind === 'resets' || mishap.kind === 'hangs') goesOn = false;
    }
    return goesOn;
  };

  const brownOut = (): void => {
    clock.within(chip.cycleUs / 2000, () => {
      chip.tear(random);
      reset();
    });
  };
  const reset = (): void => {
    toHost.dropUnsent();
    firmware.reset();
  };
  const unplug = (): void => port?.lose();
  const delay = options.answerDelayMs ?? 0;

  const toWriter = wire(clock, () => wireMishaps['to-writer'], random, {
    receiverBaud: () => firmware.baud,
    deliver: (bytes) => firmware.receive(bytes),
    unplug,
    delayMs: () => 0,
    // Its buffer holds what comes from the writer; the host is made to wait.
    adapter: options.adapter ? withoutBuffer(options.adapter) : null,
  });
  const toHost = wire(clock, () => wireMishaps['to-host'], random, {
    receiverBaud: () => port?.baud ?? 0,
    deliver: (bytes) => port?.deliver(bytes),
    unplug,
    adapter: options.adapter ?? null,
    delayMs: () => (typeof delay === 'number' ? delay : delay[0] + random.next() * (delay[1] - delay[0])),
  });
  if (options.resetsOnOpen === false) firmware.begin();

  const open: OpenLink = async (path, linkOptions) => {
    if (port?.usable) throw new ToolError('link.busy', { path, holder: null });
    const opened = new MockPort(path, linkOptions.baud, linkOptions.lineMax, clock, (bytes, baud) =>
      toWriter.send(bytes, baud),
    );
    port = opened;
    if (options.resetsOnOpen !== false) reset();
    return opened;
  };

  return {
    open,
    clock,
    chip,
    firmware,
    setMishaps,
    setWiring: (faults) => {
      wiring = chipWiring(faults, random);
    },
    reset,
    unplug,
    counts: () => ({
      toWriter: toWriter.sentCount(),
      toHost: toHost.sentCount(),
      lines: lineCount,
      cycles: cycleCount,
    }),
  };
}

const withoutBuffer = ({ bufferBytes: _, ...adapter }: Adapter): Adapter => adapter;

const rulesWithout = (broken: readonly BrokenRule[]): WriterRules =>
  Object.assign({ ...lawfulRules }, ...broken.map((name) => brokenRules[name]));
