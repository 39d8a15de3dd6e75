// What each DIP pin of a part carries, by size and package.
import type { Part } from './part.js';

/** Pin functions; a slash in front means active low. `RDY/NC`: ready output on some parts, not connected on others. */
export type PinName = `A${number}` | `D${number}` | '/CE' | '/OE' | '/WE' | 'VCC' | 'GND' | 'NC' | 'RDY/NC';

/** Pins 1 to n in a row. */
const layout = (text: string): readonly PinName[] => text.trim().split(/\s+/) as PinName[];

// Atmel AT28C16 Rev. 0540B-10/98.
const dip24of2k = layout(`A7 A6 A5 A4 A3 A2 A1 A0 D0 D1 D2 GND
  D3 D4 D5 D6 D7 /CE A10 /OE /WE A9 A8 VCC`);
// Atmel AT28C17 Rev. 0541B-10/98.
const dip28of2k = layout(`RDY/NC NC A7 A6 A5 A4 A3 A2 A1 A0 D0 D1 D2 GND
  D3 D4 D5 D6 D7 /CE A10 /OE NC A9 A8 NC /WE VCC`);
// Atmel AT28C64 Rev. 0001H-12/99.
const dip28of8k = layout(`RDY/NC A12 A7 A6 A5 A4 A3 A2 A1 A0 D0 D1 D2 GND
  D3 D4 D5 D6 D7 /CE A10 /OE A11 A9 A8 NC /WE VCC`);
// Atmel AT28C256 Rev. 0006H-12/99.
const dip28of32k = layout(`A14 A12 A7 A6 A5 A4 A3 A2 A1 A0 D0 D1 D2 GND
  D3 D4 D5 D6 D7 /CE A10 /OE A11 A9 A8 A13 /WE VCC`);
// Microchip AT28C010, pin table and PDIP drawing.
const dip32of128k = layout(`NC A16 A15 A12 A7 A6 A5 A4 A3 A2 A1 A0 D0 D1 D2 GND
  D3 D4 D5 D6 D7 /CE A10 /OE A11 A9 A8 A13 A14 NC /WE VCC`);
// Atmel AT28C040 Rev. 0542B-10/98.
const dip32of512k = layout(`A18 A16 A15 A12 A7 A6 A5 A4 A3 A2 A1 A0 D0 D1 D2 GND
  D3 D4 D5 D6 D7 /CE A10 /OE A11 A9 A8 A13 A14 A17 /WE VCC`);

const layouts = new Map([
  ['24 2048', dip24of2k],
  ['28 2048', dip28of2k],
  ['28 8192', dip28of8k],
  ['28 32768', dip28of32k],
  ['32 131072', dip32of128k],
  ['32 524288', dip32of512k],
]);

/** The pins of a part in order; index 0 is pin 1. */
export const socketPins = (part: Pick<Part, 'pins' | 'cells'>): readonly PinName[] =>
  layouts.get(`${part.pins} ${part.cells}`)!;
