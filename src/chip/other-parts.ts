// Parts of ST, Catalyst (later ON) and Microchip's own 28C17A.
import { memory, type RealPart, read } from './figure.js';

const m28c64 = 'ST M28C64, June 2000';
const m28c64c = 'ST M28C64C/X';
const m28c16a = 'ST M28C16A/M28C17A, August 1998';
const m28256 = 'ST M28256, January 1999, p. 1';
const cat16a = 'Catalyst CAT28C16A, 25033-00 (2/98); ON CAT28C16A Rev. 6 (October 2009)';
const cat64b = 'Catalyst CAT28C64B, 25006-0A (2/98)';
const cat256 = 'ON CAT28C256/D Rev. 6 (December 2009)';
const mc17a = 'Microchip 28C17A, DS11127G';
const acWrite = (sheet: string) => `${sheet}, AC write characteristics`;

const stWrite = {
  addressSetupNs: 0,
  addressHoldNs: 100,
  dataSetupNs: 50,
  dataHoldNs: 0,
  pulseMinNs: 100,
  pulseMaxNs: null,
  pulseHighNs: 50,
};

const st64: RealPart = {
  name: 'M28C64',
  maker: 'ST',
  cells: 8192,
  addressLines: 13,
  pins: 28,
  pageBytes: read(64, m28c64),
  cycleMaxUs: read(3000, `${m28c64} (suffix -A: 1 ms)`),
  cycleTypicalUs: null,
  loadWindowMaxUs: memory(100, acWrite(m28c64)),
  protection: read(true, m28c64),
  polling: read('toggle', m28c64),
  accessNs: memory(150, `${m28c64}, grade -15`),
  write: memory(stWrite, acWrite(m28c64)),
  endurance: read(100_000, m28c64),
};

const st16a: RealPart = {
  ...st64,
  name: 'M28C16A',
  cells: 2048,
  addressLines: 11,
  pins: 24,
  pageBytes: read(32, m28c16a),
  cycleMaxUs: read(5000, m28c16a),
  loadWindowMaxUs: memory(100, acWrite(m28c16a)),
  protection: read(false, `${m28c16a}: no protection codes listed`),
  polling: read('toggle', m28c16a),
  accessNs: memory(150, `${m28c16a}, grade -15`),
  write: memory(stWrite, acWrite(m28c16a)),
  endurance: memory(100_000, m28c16a),
};

const catalystWrite = { ...stWrite, dataSetupNs: 60, dataHoldNs: 10, pulseMinNs: 110 };

export const stParts: readonly RealPart[] = [
  st16a,
  { ...st16a, name: 'M28C17A', pins: 28 },
  st64,
  {
    ...st64,
    name: 'M28C64C',
    pageBytes: read(32, m28c64c),
    cycleMaxUs: memory(5000, m28c64c),
    loadWindowMaxUs: memory(100, acWrite(m28c64c)),
    protection: read(false, `${m28c64c}: no protection codes listed`),
    polling: read('toggle', m28c64c),
    accessNs: memory(250, `${m28c64c}, grade -25`),
    write: memory(stWrite, acWrite(m28c64c)),
    endurance: memory(100_000, m28c64c),
  },
  {
    ...st64,
    name: 'M28256',
    cells: 32768,
    addressLines: 15,
    pageBytes: read(64, m28256),
    cycleMaxUs: memory(10_000, `${m28256}: its own limit was not read, the 10 ms usual for 32Kx8 parts are taken`),
    loadWindowMaxUs: memory(100, acWrite(m28256)),
    protection: read(true, m28256),
    polling: read('toggle', m28256),
    accessNs: memory(250, `${m28256}, grade -25`),
    write: memory(stWrite, acWrite(m28256)),
    endurance: read(100_000, m28256),
  },
];

export const catalystParts: readonly RealPart[] = [
  {
    name: 'CAT28C16A',
    maker: 'Catalyst / ON',
    cells: 2048,
    addressLines: 11,
    pins: 24,
    pageBytes: read(1, cat16a),
    cycleMaxUs: read(10_000, cat16a),
    cycleTypicalUs: null,
    loadWindowMaxUs: null,
    protection: read(false, `${cat16a}: hardware write protection only`),
    polling: read('data', cat16a),
    accessNs: memory(200, `${cat16a}, grade -20`),
    write: memory({ ...catalystWrite, pulseHighNs: 0 }, acWrite(cat16a)),
    endurance: read(10_000, 'Catalyst CAT28C16A, 25033-00 (2/98) (10^5 in the edition of 2009)'),
  },
  {
    name: 'CAT28C64B',
    maker: 'Catalyst',
    cells: 8192,
    addressLines: 13,
    pins: 28,
    pageBytes: read(32, cat64b),
    cycleMaxUs: read(5000, cat64b),
    cycleTypicalUs: null,
    loadWindowMaxUs: memory(100, acWrite(cat64b)),
    protection: read(true, cat64b),
    polling: read('toggle', cat64b),
    accessNs: memory(200, `${cat64b}, grade -20`),
    write: memory(catalystWrite, acWrite(cat64b)),
    endurance: read(100_000, cat64b),
  },
  {
    name: 'CAT28C256',
    maker: 'Catalyst / ON',
    cells: 32768,
    addressLines: 15,
    pins: 28,
    pageBytes: read(64, `${cat256} p. 7`),
    cycleMaxUs: read(5000, `${cat256} p. 1`),
    cycleTypicalUs: null,
    loadWindowMaxUs: memory(100, `${cat256} p. 7: counted from the rising edge of /WE; the value is from memory`),
    protection: read(true, `${cat256} p. 1`),
    polling: read('toggle', `${cat256} p. 8`),
    accessNs: memory(150, `${cat256}, grade -15`),
    write: memory(catalystWrite, acWrite(cat256)),
    endurance: read(100_000, `${cat256} p. 1`),
  },
];

export const microchipParts: readonly RealPart[] = [
  {
    name: '28C17A',
    maker: 'Microchip',
    cells: 2048,
    addressLines: 11,
    pins: 28,
    pageBytes: read(1, `${mc17a} p. 2`),
    cycleMaxUs: read(1000, `${mc17a} p. 2 (suffix F: 200 us)`),
    cycleTypicalUs: null,
    loadWindowMaxUs: null,
    protection: read(false, `${mc17a} p. 6: hardware write protection only`),
    polling: read('data', `${mc17a} p. 6`),
    accessNs: memory(250, `${mc17a}, grade -25`),
    write: memory(
      {
        addressSetupNs: 10,
        addressHoldNs: 50,
        dataSetupNs: 50,
        dataHoldNs: 10,
        pulseMinNs: 100,
        pulseMaxNs: null,
        pulseHighNs: 50,
      },
      `${mc17a}, AC write characteristics; data must be valid within 1000 ns of the falling edge of /WE`,
    ),
    endurance: read(10_000, `${mc17a} p. 2`),
  },
];
