// The SPI as master: bytes leave bit by bit on PB3 and PB5, and what comes back on PB4 is what the registers push out.
// Not modelled: its interrupt and slave mode, which no writer needs.
import type { CPU } from 'avr8js';
import type { AddressRegisters } from './address-registers.js';
import { DDRB, PORTB, SPCR, SPDR, SPSR } from './avr-registers.js';
import type { Report } from './violation.js';

const SPIF = 0x80;
const WCOL = 0x40;
const SPI2X = 0x01;
const SPE = 0x40;
const DORD = 0x20;
const MSTR = 0x10;
const CPOL = 0x08;
const CPHA = 0x04;

const dataAndClockOut = 0x28;
const slaveSelect = 0x04;

const reversed = (byte: number): number => {
  let out = 0;
  for (let bit = 0; bit < 8; bit++) out |= ((byte >> bit) & 1) << (7 - bit);
  return out;
};

export class Spi {
  /** The cycle at which the byte under way has left; 0 when none is under way. */
  #doneAt = 0;
  #incoming = 0xff;
  /** SPSR was read with SPIF set: the next touch of SPDR clears it (data sheet, SPIF). */
  #seen = false;

  constructor(
    private readonly cpu: CPU,
    private readonly registers: AddressRegisters,
    private readonly report: Report,
  ) {
    const { data, readHooks, writeHooks } = cpu;
    writeHooks[SPDR] = (value) => this.#write(value);
    writeHooks[SPSR] = (value) => {
      data[SPSR] = (data[SPSR]! & ~SPI2X) | (value & SPI2X);
      return true;
    };
    readHooks[SPSR] = () => {
      this.#settle();
      this.#seen = (data[SPSR]! & (SPIF | WCOL)) !== 0;
      return data[SPSR]!;
    };
    readHooks[SPDR] = () => {
      this.#settle();
      this.#touched();
      return data[SPDR]!;
    };
  }

  /** True while the SPI owns the pins PB3 and PB5. */
  get enabled(): boolean {
    return (this.cpu.data[SPCR]! & SPE) !== 0;
  }

  #settle(): void {
    if (this.#doneAt === 0 || this.cpu.cycles < this.#doneAt) return;
    this.#doneAt = 0;
    this.cpu.data[SPDR] = this.#incoming;
    this.cpu.data[SPSR]! |= SPIF;
  }

  #touched(): void {
    if (this.#seen) this.cpu.data[SPSR]! &= ~(SPIF | WCOL);
    this.#seen = false;
  }

  #write(value: number): boolean {
    const { data, cycles } = this.cpu;
    this.#settle();
    this.#touched();
    // An input at /SS that is low makes the SPI a slave (data sheet, /SS pin functionality): nothing leaves.
    const slave = !(data[DDRB]! & slaveSelect) && !(data[PORTB]! & slaveSelect);
    if (slave) data[SPCR]! &= ~MSTR;
    if ((data[SPCR]! & (SPE | MSTR)) !== (SPE | MSTR)) return true;
    if (this.#doneAt !== 0) {
      data[SPSR]! |= WCOL;
      this.report('spi-write-collision', cycles, `${this.#doneAt - cycles} cycles too early`);
      return true;
    }
    const mode = data[SPCR]! & (CPOL | CPHA);
    if (mode === CPOL || mode === CPHA)
      this.report('spi-clock-edge', cycles, 'modes 1 and 2 change data on the rising edge');
    const bitCycles = [4, 16, 64, 128][data[SPCR]! & 3]! / (data[SPSR]! & SPI2X ? 2 : 1);
    const lsbFirst = (data[SPCR]! & DORD) !== 0;
    const wired = (data[DDRB]! & dataAndClockOut) === dataAndClockOut;
    const incoming = wired ? this.registers.shift(lsbFirst ? reversed(value) : value, cycles + 1, bitCycles) : 0xff;
    this.#incoming = lsbFirst ? reversed(incoming) : incoming;
    // One cycle more than the bits: two bytes cannot follow each other closer than 17 cycles at half the clock (from memory).
    this.#doneAt = cycles + 8 * bitCycles + 1;
    return true;
  }
}
