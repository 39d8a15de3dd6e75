// Atmel parts without page mode: each cell is a write cycle of its own, and there are no protection codes.
import { memory, type RealPart, read } from './figure.js';

const at28c16 = 'Atmel AT28C16, Rev. 0540B-10/98';
const at28c17 = 'Atmel AT28C17, Rev. 0541B-10/98';
const at28c64 = 'Atmel AT28C64, Rev. 0001H-12/99';
const at28c64Operation = 'Atmel AT28C64, Device Operation';

/** The three sheets share one AC write table. Its pulse maximum forbids slow pulses from a port pin. */
const byteWrite = (sheet: string): RealPart['write'] =>
  memory(
    {
      addressSetupNs: 10,
      addressHoldNs: 50,
      dataSetupNs: 50,
      dataHoldNs: 10,
      pulseMinNs: 100,
      pulseMaxNs: 1000,
      pulseHighNs: 0,
    },
    `${sheet}, AC Write Characteristics`,
  );

const byteMode = (sheet: string) => ({
  maker: 'Atmel',
  pageBytes: read(1, `${sheet}, Byte Write`),
  cycleTypicalUs: null,
  loadWindowMaxUs: null,
  protection: memory(false, `${sheet}: no software data protection described`),
  polling: read('data' as const, `${sheet}, DATA Polling`),
  accessNs: memory(250, `${sheet}, grade -25, AC Read Characteristics`),
  write: byteWrite(sheet),
  endurance: read(10_000, `${sheet}, Features: 10^4 or 10^5 cycles`),
});

const small16 = { ...byteMode(at28c16), cells: 2048, addressLines: 11, pins: 24 as const };
const small17 = { ...byteMode(at28c17), cells: 2048, addressLines: 11, pins: 28 as const };
const large64 = { ...byteMode(at28c64), cells: 8192, addressLines: 13, pins: 28 as const };

export const atmelByteParts: readonly RealPart[] = [
  { ...small16, name: 'AT28C16', cycleMaxUs: read(1000, `${at28c16}, Features: 200 us or 1 ms`) },
  {
    ...small16,
    name: 'AT28C16E',
    cycleMaxUs: memory(200, `${at28c16}, Features: 200 us or 1 ms (suffix E from memory)`),
  },
  { ...small17, name: 'AT28C17', cycleMaxUs: read(1000, `${at28c17}, Features`) },
  { ...small17, name: 'AT28C17E', cycleMaxUs: read(200, `${at28c17}, Features`) },
  { ...large64, name: 'AT28C64', cycleMaxUs: read(1000, `${at28c64}, Features`) },
  { ...large64, name: 'AT28C64X', cycleMaxUs: read(1000, `${at28c64}, Features`) },
  {
    ...large64,
    name: 'AT28C64E',
    cycleMaxUs: read(200, `${at28c64Operation}: 200 us a byte, entire memory in 1.6 s`),
  },
];
