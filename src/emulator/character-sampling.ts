// What a receiver makes of a character whose sender runs at another rate: bit by bit, with the data sheet's sample points.
import type { Random } from '../ground/random.js';

export interface SampledCharacter {
  readonly byte: number;
  /** The stop bit was sampled low. */
  readonly framingError: boolean;
}

/**
 * Samples one 8N1 character. Bit lengths are in the same unit (cycles). A bit is the majority of three samples in its
 * middle; the first low sample lies up to one sample time after the true edge, drawn from `random`.
 * Sample numbers: 8 to 10 of 16, 4 to 6 of 8 (ATmega328P data sheet, asynchronous data recovery).
 */
export function sampledCharacter(
  byte: number,
  senderBit: number,
  receiverBit: number,
  samplesPerBit: 8 | 16,
  random: Random,
): SampledCharacter {
  // Well inside the published limits (-4.00 % to +3.90 % at double speed) nothing can go wrong, so nothing is computed.
  if (Math.abs(senderBit / receiverBit - 1) < 0.035) return { byte, framingError: false };
  // Start bit (0), eight data bits, then the stop bit and the idle line (1) for ever.
  const frame = (byte << 1) | 0xfffffe00;
  const sample = receiverBit / samplesPerBit;
  const first = samplesPerBit / 2 - 1;
  const late = random.next();
  const levelOf = (bit: number): number => {
    let ones = 0;
    for (let i = 0; i < 3; i++) {
      const at = (bit * samplesPerBit + first + i + late) * sample;
      ones += (frame >>> Math.min(31, Math.floor(at / senderBit))) & 1;
    }
    return ones >= 2 ? 1 : 0;
  };
  let seen = 0;
  for (let bit = 1; bit <= 8; bit++) seen |= levelOf(bit) << (bit - 1);
  return { byte: seen, framingError: levelOf(9) === 0 };
}
