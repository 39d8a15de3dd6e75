// USART0 as the data sheet has it: sending is double-buffered, receiving holds two characters and a third in the shift
// register, what comes after that is lost and flagged (DOR), and bits are sampled against the sender's own rate.
import type { CPU } from 'avr8js';
import type { Random } from '../ground/random.js';
import { UBRR0H, UBRR0L, UCSR0A, UCSR0B, UCSR0C, UDR0 } from './avr-registers.js';
import { sampledCharacter } from './character-sampling.js';

const RXC = 0x80;
const TXC = 0x40;
const UDRE = 0x20;
const FE = 0x10;
const DOR = 0x08;
const U2X = 0x02;
const MPCM = 0x01;
const RXEN = 0x10;
const TXEN = 0x08;

interface Received {
  readonly byte: number;
  readonly framingError: boolean;
  overrun: boolean;
}

/** A character that has left the writer: its byte, the cycle its stop bit ended, and the length of a bit in cycles. */
export type Sent = (byte: number, endCycle: number, bitCycles: number) => void;

const vector = (address: number, flagMask: number, enableMask: number, constant: boolean) => ({
  address,
  flagRegister: UCSR0A,
  flagMask,
  enableRegister: UCSR0B,
  enableMask,
  constant,
});

export class Usart {
  #fifo: Received[] = [];
  /** The shift register's finished character, waiting for room in the queue of two. */
  #waiting: Received | null = null;
  #overrunNext = false;
  #sending = false;
  #buffered: number | null = null;
  readonly #received = vector(0x24, RXC, 0x80, true);
  readonly #empty = vector(0x26, UDRE, 0x20, true);
  readonly #complete = vector(0x28, TXC, 0x40, false);

  constructor(
    private readonly cpu: CPU,
    private readonly random: Random,
    private readonly sent: Sent,
  ) {
    const { data, readHooks, writeHooks } = cpu;
    data[UCSR0A] = UDRE;
    data[UCSR0C] = 0x06;
    writeHooks[UCSR0A] = (value) => {
      if (value & TXC) cpu.clearInterrupt(this.#complete);
      data[UCSR0A] = (data[UCSR0A]! & ~(U2X | MPCM)) | (value & (U2X | MPCM));
      return true;
    };
    writeHooks[UCSR0B] = (value) => this.#control(value);
    readHooks[UDR0] = () => this.#read();
    writeHooks[UDR0] = (value) => this.#write(value);
  }

  /** Length of a bit at the writer's own rate, in cycles. */
  get bitCycles(): number {
    const { data } = this.cpu;
    return ((((data[UBRR0H]! & 0x0f) << 8) | data[UBRR0L]!) + 1) * (data[UCSR0A]! & U2X ? 8 : 16);
  }

  /** A character whose start bit began at its sender's own bit length has just come to its stop bit. */
  receive(byte: number, senderBitCycles: number): void {
    const { data } = this.cpu;
    if (!(data[UCSR0B]! & RXEN)) return;
    const samplesPerBit = data[UCSR0A]! & U2X ? 8 : 16;
    const seen = sampledCharacter(byte, senderBitCycles, this.bitCycles, samplesPerBit, this.random);
    const entry: Received = { byte: seen.byte, framingError: seen.framingError, overrun: false };
    if (this.#fifo.length < 2) {
      entry.overrun = this.#overrunNext;
      this.#overrunNext = false;
      this.#fifo.push(entry);
      this.#showFront();
    } else {
      // The one that waited in the shift register is overwritten; the next one read after the gap carries the flag.
      entry.overrun = this.#waiting !== null;
      this.#waiting = entry;
    }
  }

  #control(value: number): boolean {
    const { cpu } = this;
    cpu.data[UCSR0B] = value;
    if (!(value & RXEN)) {
      this.#fifo = [];
      this.#waiting = null;
      this.#showFront();
    }
    for (const interrupt of [this.#received, this.#empty, this.#complete]) cpu.updateInterruptEnable(interrupt, value);
    return true;
  }

  #read(): number {
    const entry = this.#fifo.shift();
    if (this.#waiting && this.#fifo.length < 2) {
      this.#fifo.push(this.#waiting);
      this.#waiting = null;
    }
    this.#showFront();
    return entry?.byte ?? 0;
  }

  #showFront(): void {
    const { data } = this.cpu;
    const front = this.#fifo[0];
    data[UCSR0A]! &= ~(FE | DOR);
    if (front?.framingError) data[UCSR0A]! |= FE;
    if (front?.overrun) data[UCSR0A]! |= DOR;
    if (front) this.cpu.setInterruptFlag(this.#received);
    else this.cpu.clearInterrupt(this.#received);
  }

  #write(value: number): boolean {
    const { cpu } = this;
    // Data written while the buffer is full, or before the transmitter is on, is ignored (data sheet, USART data register).
    if (!(cpu.data[UCSR0B]! & TXEN) || !(cpu.data[UCSR0A]! & UDRE)) return true;
    if (this.#sending) {
      this.#buffered = value;
      cpu.clearInterrupt(this.#empty);
    } else this.#send(value, cpu.cycles);
    return true;
  }

  #send(byte: number, from: number): void {
    const { cpu } = this;
    const bit = this.bitCycles;
    const end = from + 10 * bit;
    this.#sending = true;
    cpu.addClockEvent(() => {
      this.#sending = false;
      const next = this.#buffered;
      this.#buffered = null;
      if (next === null) cpu.setInterruptFlag(this.#complete);
      else {
        this.#send(next, end);
        cpu.setInterruptFlag(this.#empty);
      }
      this.sent(byte, end, bit);
    }, end - cpu.cycles);
  }
}
