// Atmel (later Microchip) parts with page mode and software data protection.
import { memory, type RealPart, read } from './figure.js';

const c64b = 'Microchip AT28C64B';
const hc64b = 'Microchip AT28HC64B/BF, 6.16 Page Mode Characteristics';
const c256 = 'Microchip AT28C256';
const c256Features = `${c256}, Features`;
const hc256 = 'Atmel AT28HC256 0007N-PEEPR-9/09 p. 4';
const hc256Old = 'Atmel AT28HC256 Rev. 0007G-10/98';
const c010 = 'Microchip AT28C010';
const c040 = 'Atmel AT28C040 Rev. 0542B-10/98';
const c040Late = 'Atmel AT28C040 0542F-PEEPR-2/09 pp. 10-11';

/** One AC write table for the whole line of parts; only the place where it was read differs. */
const pageWrite = {
  addressSetupNs: 0,
  addressHoldNs: 50,
  dataSetupNs: 50,
  dataHoldNs: 0,
  pulseMinNs: 100,
  pulseMaxNs: null,
  pulseHighNs: 50,
};

const atmel = { maker: 'Atmel', cycleTypicalUs: null };

const at28c64b: RealPart = {
  ...atmel,
  name: 'AT28C64B',
  cells: 8192,
  addressLines: 13,
  pins: 28,
  pageBytes: read(64, `${c64b}, 6.3 Page Write`),
  cycleMaxUs: read(10_000, `${c64b}, 6.14 Page Mode Characteristics`),
  loadWindowMaxUs: read(150, `${c64b}, 6.14 Page Mode Characteristics`),
  protection: read(true, `${c64b}, 6.6.2 Software Data Protection`),
  polling: read('toggle', 'Atmel AT28C64B 0270L-PEEPR-2/09 p. 4'),
  accessNs: memory(250, 'Atmel AT28C64B, grade -25 of older editions, AC Read Characteristics'),
  write: read(pageWrite, `${c64b}, 6.14 Page Mode Characteristics`),
  endurance: memory(10_000, 'Atmel AT28C64B, Features: 10^4 or 10^5 cycles'),
};

const at28hc64b: RealPart = {
  ...at28c64b,
  name: 'AT28HC64B',
  pageBytes: read(64, 'Atmel AT28HC64B 0274L-PEEPR p. 4'),
  cycleMaxUs: read(10_000, hc64b),
  loadWindowMaxUs: read(150, hc64b),
  protection: read(true, 'Atmel AT28HC64B 0274L-PEEPR p. 4'),
  polling: read('toggle', 'Atmel AT28HC64B 0274L-PEEPR p. 4'),
  accessNs: read(120, 'Microchip AT28HC64B, AC Read Characteristics, grade -12'),
  write: memory(pageWrite, hc64b),
  endurance: memory(10_000, 'Atmel AT28HC64B, Features'),
};

const at28c256: RealPart = {
  ...atmel,
  name: 'AT28C256',
  cells: 32768,
  addressLines: 15,
  pins: 28,
  pageBytes: read(64, 'Atmel AT28C256 0006K-PEEPR-01/08 p. 3, Page Write'),
  cycleMaxUs: read(10_000, `${c256}, 6.7 Page Mode Characteristics`),
  loadWindowMaxUs: read(150, `${c256}, 6.7 Page Mode Characteristics`),
  protection: read(true, 'Microchip AT28C256, software data protection disable algorithm'),
  polling: read('toggle', `${c256}, 6 Device Operation`),
  accessNs: read(250, `${c256}, AC Read Characteristics, grade -25`),
  write: read(pageWrite, `${c256}, 6.7 Page Mode Characteristics`),
  endurance: read(10_000, c256Features),
};

const at28hc256: RealPart = {
  ...at28c256,
  name: 'AT28HC256',
  pageBytes: read(64, hc256),
  cycleMaxUs: read(10_000, `${hc256Old}, Features: 3 or 10 ms`),
  loadWindowMaxUs: memory(150, hc256Old),
  protection: read(true, 'Microchip AT28HC256, software data protection enable algorithm'),
  polling: read('toggle', hc256),
  accessNs: memory(120, `${hc256Old}, grade -12`),
  write: memory(pageWrite, hc256Old),
  endurance: memory(10_000, `${hc256Old}, Features`),
};

const at28c010: RealPart = {
  ...atmel,
  name: 'AT28C010',
  cells: 131072,
  addressLines: 17,
  pins: 32,
  pageBytes: read(128, `${c010}, 5 Device Operation`),
  cycleMaxUs: read(10_000, `${c010}, Page Mode Characteristics`),
  loadWindowMaxUs: read(150, `${c010}, Page Mode Characteristics`),
  protection: read(true, `${c010}, software data protection notes`),
  polling: memory('toggle', `${c010}, Toggle Bit`),
  accessNs: memory(250, 'Atmel AT28C010, grade -25 of military editions'),
  write: read(pageWrite, `${c010}, 5.5 AC Write Characteristics`),
  endurance: read(10_000, 'Atmel AT28C010 Rev. 0353E-06/99, Features'),
};

const at28c040: RealPart = {
  ...atmel,
  name: 'AT28C040',
  cells: 524288,
  addressLines: 19,
  pins: 32,
  pageBytes: read(256, c040),
  cycleMaxUs: read(10_000, c040),
  loadWindowMaxUs: read(150, c040),
  protection: read(true, 'Atmel AT28C040, software data protection algorithms'),
  polling: read('toggle', c040Late),
  accessNs: read(200, `${c040}, grade -20`),
  // The hold of 10 ns was read in the polling tables, the rest is from memory.
  write: memory({ ...pageWrite, dataHoldNs: 10 }, `${c040Late}; AC Write Characteristics`),
  endurance: read(10_000, c040),
};

export const atmelPageParts: readonly RealPart[] = [
  at28c64b,
  at28hc64b,
  { ...at28hc64b, name: 'AT28HC64BF', cycleMaxUs: read(2000, hc64b) },
  at28c256,
  { ...at28c256, name: 'AT28C256F', cycleMaxUs: read(3000, `${c256}, 6.7 Page Mode Characteristics`) },
  at28hc256,
  {
    ...at28hc256,
    name: 'AT28HC256F',
    cycleMaxUs: memory(3000, `${hc256Old}, Features: 3 or 10 ms (suffix F from memory)`),
  },
  at28c010,
  at28c040,
];
