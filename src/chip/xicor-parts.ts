// Xicor (later Intersil) parts: page mode, software data protection, typical cycles on the front page.
import { memory, type RealPart, read } from './figure.js';

const front = (part: string) => `Xicor ${part}, front page`;
const acWrite = (part: string) => `Xicor ${part}, AC write characteristics`;
const hc256 = 'Intersil X28HC256 FN8108 Rev 5.00 (27 Aug 2015)';

/** The slow line of parts: long address hold, long recovery of /WE. */
const slowWrite = {
  addressSetupNs: 0,
  addressHoldNs: 150,
  dataSetupNs: 50,
  dataHoldNs: 10,
  pulseMinNs: 100,
  pulseMaxNs: null,
  pulseHighNs: 200,
};
const fastWrite = { ...slowWrite, addressHoldNs: 50, dataHoldNs: 0, pulseMinNs: 50, pulseHighNs: 50 };

const x28c64: RealPart = {
  name: 'X28C64',
  maker: 'Xicor',
  cells: 8192,
  addressLines: 13,
  pins: 28,
  pageBytes: read(64, front('X28C64')),
  cycleMaxUs: memory(10_000, acWrite('X28C64')),
  cycleTypicalUs: read(5000, `${front('X28C64')}: entire memory in 0.625 s typical`),
  loadWindowMaxUs: memory(100, acWrite('X28C64')),
  protection: read(true, front('X28C64')),
  polling: read('toggle', front('X28C64')),
  accessNs: memory(250, 'Xicor X28C64, grade -25'),
  write: memory(slowWrite, acWrite('X28C64')),
  endurance: read(100_000, front('X28C64')),
};

const x28c256: RealPart = {
  ...x28c64,
  name: 'X28C256',
  cells: 32768,
  addressLines: 15,
  pageBytes: read(64, front('X28C256')),
  cycleMaxUs: memory(10_000, acWrite('X28C256')),
  cycleTypicalUs: read(5000, `${front('X28C256')}: 78 us a byte`),
  loadWindowMaxUs: memory(100, acWrite('X28C256')),
  protection: read(true, front('X28C256')),
  polling: read('toggle', front('X28C256')),
  accessNs: memory(250, 'Xicor X28C256, grade -25'),
  write: memory(slowWrite, acWrite('X28C256')),
  endurance: read(100_000, front('X28C256')),
};

export const xicorParts: readonly RealPart[] = [
  x28c64,
  {
    ...x28c64,
    name: 'X28HC64',
    pageBytes: read(64, front('X28HC64')),
    cycleMaxUs: memory(5000, acWrite('X28HC64')),
    cycleTypicalUs: read(2000, front('X28HC64')),
    loadWindowMaxUs: memory(100, acWrite('X28HC64')),
    protection: read(true, front('X28HC64')),
    polling: read('toggle', front('X28HC64')),
    accessNs: memory(120, 'Xicor X28HC64, grade -12'),
    write: memory(fastWrite, acWrite('X28HC64')),
    endurance: memory(100_000, front('X28HC64')),
  },
  x28c256,
  {
    ...x28c256,
    name: 'X28HC256',
    maker: 'Xicor / Intersil',
    pageBytes: read(128, `${hc256} p. 1`),
    cycleMaxUs: memory(5000, `${hc256}, AC write characteristics`),
    cycleTypicalUs: read(3000, `${hc256} p. 1: entire memory in less than 0.8 s`),
    loadWindowMaxUs: read(100, `${hc256} p. 7: from falling edge of /WE to falling edge of /WE`),
    protection: read(true, `${hc256} p. 1`),
    polling: read('toggle', `${hc256} p. 1`),
    accessNs: memory(150, `${hc256}, grade -15`),
    write: memory(fastWrite, `${hc256}, AC write characteristics`),
    endurance: read(100_000, `${hc256} p. 1 (10^6 in the editions of 2001 and 2007)`),
  },
  {
    ...x28c64,
    name: 'X28C010',
    cells: 131072,
    addressLines: 17,
    pins: 32,
    pageBytes: read(256, front('X28C010')),
    cycleMaxUs: memory(10_000, acWrite('X28C010')),
    // 19 us a byte, times 256 bytes a page, is 4.9 ms.
    cycleTypicalUs: memory(5000, `${front('X28C010')}: 19 us a byte effective`),
    loadWindowMaxUs: memory(100, acWrite('X28C010')),
    protection: read(true, front('X28C010')),
    polling: read('toggle', front('X28C010')),
    accessNs: memory(250, 'Xicor X28C010, grade -25'),
    write: memory({ ...slowWrite, addressHoldNs: 50, pulseHighNs: 100 }, acWrite('X28C010')),
    endurance: read(100_000, front('X28C010')),
  },
];
