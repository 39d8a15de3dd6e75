// The serial line between host and writer, at the level of characters: each end has its own rate, bytes take their time,
// and a USB adapter may hold back what the writer says.
import type { Random } from '../ground/random.js';
import type { AvrMachine } from './avr-machine.js';
import { sampledCharacter } from './character-sampling.js';
import { afterMishaps, type ByteMishap, type BytePlace } from './mishap.js';
import { clockHz, cyclesOfMs } from './time-units.js';

interface Due {
  readonly byte: number;
  readonly cycle: number;
}

/** As many bytes go to the host at once where no line end comes before: one packet of a full-speed USB adapter (62 + 2 of status). */
const packetBytes = 64;
const lineFeed = 0x0a;

export class SerialLine {
  #hostBaud = 115_200;
  /** The host's end takes the writer's rate for its own, as a pseudo terminal does. */
  followsWriter = false;
  #toWriter: number[] = [];
  #begin = 0;
  #lineFreeAt = 0;
  /** The machine that waits for the next byte, and which of its appointments still counts. */
  #scheduled: AvrMachine | null = null;
  #appointment = 0;
  #toHost: Due[] = [];
  #sinceStop = 0;
  readonly #stops: number[] = [];
  readonly #delay: number;
  #sentByHost = 0;
  #sentByWriter = 0;
  #mishaps: ByteMishap[] = [];

  constructor(
    answerDelayMs: number,
    private readonly random: Random,
    /** Told after each byte that passed: how many have gone in each direction. */
    private readonly counted: (toWriter: number, toHost: number) => void,
  ) {
    this.#delay = cyclesOfMs(answerDelayMs);
  }

  /** Sets the host's own rate. As the operating system does, what waits in its buffers is dropped. */
  setHostBaud(baud: number, cycle: number): void {
    this.#hostBaud = baud;
    this.flush(cycle);
    this.#dropUnsent();
  }

  /** Drops what has come in for the host up to `cycle` and was not fetched. */
  flush(cycle: number): void {
    this.#toHost = this.#toHost.filter((d) => d.cycle > cycle);
    while (this.#stops.length > 0 && this.#stops[0]! <= cycle) this.#stops.shift();
  }

  /** Adds mishaps that strike single bytes. */
  arrange(mishaps: readonly ByteMishap[]): void {
    this.#mishaps.push(...mishaps);
  }

  /** From now on nothing strikes. */
  lift(): void {
    this.#mishaps = [];
  }

  /** The host sends bytes; they leave one after the other at its rate. Without power at the writer nobody hears them. */
  send(bytes: Uint8Array, machine: AvrMachine | null, cycle: number): void {
    if (!machine) return;
    if (this.#toWriter.length === 0) this.#begin = Math.max(cycle, this.#lineFreeAt);
    for (const byte of bytes) this.#toWriter.push(byte);
    this.attach(machine);
  }

  /** The cycle at which everything that the host sent so far has left, or null when it has. */
  busyUntil(): number | null {
    return this.#toWriter.length === 0 ? null : this.#begin + this.#toWriter.length * 10 * this.#hostBit(null);
  }

  /** Gives the line to a machine (the first, or the one after a reset); null while there is no power. */
  attach(machine: AvrMachine | null): void {
    if (machine === this.#scheduled && machine !== null) return;
    this.#scheduled = null;
    if (!machine) this.#dropUnsent();
    else if (this.#toWriter.length > 0) this.#schedule(machine);
  }

  /** A character has left the writer. Returns the cycle at which the bench should stop for the host, if this byte asks for one. */
  fromWriter(byte: number, endCycle: number, bitCycles: number): number | null {
    this.#sentByWriter++;
    const hostBit = this.#hostBit(bitCycles);
    const seen = sampledCharacter(byte, bitCycles, hostBit, 16, this.random);
    // Operating systems hand a character with a framing error on as 00 (termios, PARMRK off).
    const value = seen.framingError ? 0 : seen.byte;
    const bytes = this.#struck(value, (at) => 'byteToHost' in at && at.byteToHost === this.#sentByWriter);
    const cycle = endCycle + this.#delay;
    for (const b of bytes) this.#toHost.push({ byte: b, cycle });
    this.#sinceStop += bytes.length;
    this.counted(this.#sentByHost, this.#sentByWriter);
    if (!bytes.includes(lineFeed) && this.#sinceStop < packetBytes) return null;
    this.#sinceStop = 0;
    this.#stops.push(cycle);
    return cycle;
  }

  /** The next cycle at which bytes must go to the host, or null. */
  get nextStop(): number | null {
    return this.#stops[0] ?? null;
  }

  /** Takes what is due at the host by `cycle`. */
  take(cycle: number): Uint8Array {
    while (this.#stops.length > 0 && this.#stops[0]! <= cycle) this.#stops.shift();
    const count = this.#toHost.findIndex((d) => d.cycle > cycle);
    const due = this.#toHost.splice(0, count < 0 ? this.#toHost.length : count);
    return Uint8Array.from(due, (d) => d.byte);
  }

  /** The byte after the mishaps whose place this is. */
  #struck(byte: number, here: (at: BytePlace) => boolean): readonly number[] {
    if (this.#mishaps.length === 0) return [byte];
    const striking = this.#mishaps.filter((m) => here(m.at));
    return afterMishaps(byte, striking);
  }

  #dropUnsent(): void {
    this.#toWriter = [];
    this.#scheduled = null;
    this.#appointment++;
  }

  #hostBit(writerBit: number | null): number {
    if (this.followsWriter) return writerBit ?? this.#scheduled?.usart.bitCycles ?? clockHz / this.#hostBaud;
    return clockHz / this.#hostBaud;
  }

  #schedule(machine: AvrMachine): void {
    this.#scheduled = machine;
    const bit = this.#hostBit(null);
    const begin = Math.max(this.#begin, machine.cycles);
    this.#begin = begin;
    const appointment = ++this.#appointment;
    machine.at(begin + 9.5 * bit, () => {
      if (this.#appointment === appointment) this.#arrived(machine, begin, bit);
    });
  }

  #arrived(machine: AvrMachine, begin: number, bit: number): void {
    const byte = this.#toWriter.shift()!;
    this.#sentByHost++;
    const bytes = this.#struck(byte, (at) => 'byteToWriter' in at && at.byteToWriter === this.#sentByHost);
    for (const b of bytes) machine.usart.receive(b, bit);
    this.#lineFreeAt = begin + 10 * bit;
    this.#begin = this.#lineFreeAt;
    if (this.#toWriter.length > 0) this.#schedule(machine);
    else this.#scheduled = null;
    this.counted(this.#sentByHost, this.#sentByWriter);
  }
}
