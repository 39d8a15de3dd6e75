// Software data protection: which loads are a code, and what the code asks for. The codes are those of the Atmel,
// Xicor, ST and Catalyst parts (AT28C256 and AT28C64B data sheets, software data protection algorithms).
import type { ByteLoad } from '../chip/byte-load.js';

/** What the loads so far are: maybe a code, no code, or a whole one. */
export type CodeStep = 'pending' | 'ordinary' | 'enable' | 'disable' | 'erase';

const step = (address: number, byte: number): ByteLoad => ({ address, byte });
const opening = [step(0x5555, 0xaa), step(0x2aaa, 0x55)];
const codes: readonly { readonly does: CodeStep; readonly steps: readonly ByteLoad[] }[] = [
  { does: 'enable', steps: [...opening, step(0x5555, 0xa0)] },
  { does: 'disable', steps: [...opening, step(0x5555, 0x80), ...opening, step(0x5555, 0x20)] },
  // Atmel application note "Software Chip Erase", Rev. 0544B-10/98.
  { does: 'erase', steps: [...opening, step(0x5555, 0x80), ...opening, step(0x5555, 0x10)] },
];

/** Follows the loads of one write cycle. Codes count only at its beginning. */
export class ProtectionCodes {
  #taken: ByteLoad[] = [];
  #over = false;

  /** `addressMask`: the chip's own address lines; the codes' addresses are cut to them. */
  constructor(private readonly addressMask: number) {}

  /** Forgets everything: a new write cycle begins. */
  restart(): void {
    this.#taken = [];
    this.#over = false;
  }

  take(address: number, byte: number): CodeStep {
    if (this.#over) return 'ordinary';
    this.#taken.push({ address, byte });
    const fitting = codes.filter(({ steps }) =>
      this.#taken.every((load, i) => {
        const wanted = steps[i];
        return wanted && load.byte === wanted.byte && load.address === (wanted.address & this.addressMask);
      }),
    );
    const whole = fitting.find(({ steps }) => steps.length === this.#taken.length);
    if (fitting.length > 0 && !whole) return 'pending';
    this.#over = true;
    return whole ? whole.does : 'ordinary';
  }
}
