// The mock's chip: what a write cycle stores, protection, faults, and the lines to it.
import { describe, expect, test } from 'vitest';
import type { ByteLoad } from '../../src/chip/byte-load.js';
import type { WiringFault } from '../../src/chip/wiring-fault.js';
import { seededRandom } from '../../src/ground/random.js';
import { chipWiring } from './chip-wiring.js';
import { converse } from './conversation.js';
import { MockChip, protectCodes, unprotectCodes } from './mock-chip.js';

const loads = (address: number, ...bytes: number[]): ByteLoad[] =>
  bytes.map((byte, i) => ({ address: address + i, byte }));
const pageChip = (more = {}) => new MockChip({ cells: 0x2000, page: 0x40, cycleUs: 5000, codes: true, ...more });

describe('cells', () => {
  test('when a page is written then its cells change, its other cells do not, and it is busy for a cycle', () => {
    const chip = pageChip();
    chip.write(loads(0x41, 1, 2), 100);
    expect([...chip.cells.subarray(0x40, 0x44)]).toEqual([0xff, 1, 2, 0xff]);
    expect([chip.busy(104.9), chip.busy(105)]).toEqual([true, false]);
    expect([chip.wear[0x41], chip.wear[0x40]]).toEqual([1, 0]);
    expect(chip.read(0x41, 106)).toBe(1);
  });

  test('when it is read in a cycle then bit 7 is inverted and bit 6 toggles', () => {
    const chip = pageChip();
    chip.write(loads(0, 0x80), 0);
    const [first, second] = [chip.read(0, 1), chip.read(0, 1)];
    expect((first ^ second) & 0x40).toBe(0x40);
    expect(first & 0x80).toBe(0);
  });

  test('when loads leave the page then they wrap inside it', () => {
    const chip = pageChip();
    chip.write(loads(0x3f, 1, 2), 0);
    expect([chip.cells[0x3f], chip.cells[0], chip.cells[0x40]]).toEqual([1, 2, 0xff]);
  });

  test('when an address is beyond the true size then it wraps', () => {
    const chip = pageChip();
    chip.write(loads(0x2000 + 5, 7), 0);
    expect(chip.cells[5]).toBe(7);
    expect(chip.read(0x4005, 10)).toBe(7);
  });

  test('when it is written cell by cell then one cycle takes one byte', () => {
    const chip = new MockChip({ cells: 0x800, page: 1, cycleUs: 200 });
    chip.write(loads(3, 1, 2), 0);
    chip.write(loads(4, 9), 0.1);
    expect([chip.cells[3], chip.cells[4]]).toEqual([1, 0xff]);
  });
});

describe('protection', () => {
  test('when it is protected then a write looks busy and stores nothing, until it is lifted', () => {
    const chip = pageChip();
    chip.write(protectCodes, 0);
    chip.write(loads(0, 1), 10);
    expect([chip.protected, chip.busy(12), chip.cells[0]]).toEqual([true, true, 0xff]);
    chip.write([...protectCodes, ...loads(0, 2)], 20);
    expect([chip.protected, chip.cells[0]]).toEqual([true, 2]);
    chip.write(unprotectCodes, 30);
    chip.write(loads(0, 3), 40);
    expect([chip.protected, chip.cells[0]]).toEqual([false, 3]);
  });

  test('when a part has no codes then they are ordinary writes', () => {
    const chip = pageChip({ codes: false });
    chip.write(protectCodes, 0);
    expect(chip.protected).toBe(false);
    expect(chip.cycleCount).toBe(1);
    expect(chip.cells.some((byte) => byte !== 0xff)).toBe(true);
  });
});

describe('faults', () => {
  test('when a bit is weak then it reads the same at every reading, whatever is stored', () => {
    const chip = pageChip({ contents: 0, faults: [{ kind: 'weak-cell', address: 8, bit: 3, level: 1 }] });
    expect([chip.read(8, 0), chip.read(8, 0), chip.read(9, 0), chip.cells[8]]).toEqual([8, 8, 0, 0]);
  });

  test('when a bit is unsteady then it reads both ways', () => {
    const chip = pageChip({ contents: 0, faults: [{ kind: 'unsteady-cell', address: 8, bit: 3 }] });
    expect(new Set(Array.from({ length: 50 }, () => chip.read(8, 0)))).toEqual(new Set([0, 8]));
  });

  test('when a page is dead then it takes a cycle and stores nothing', () => {
    const chip = pageChip({ faults: [{ kind: 'dead-page', address: 0x50 }] });
    chip.write(loads(0x40, 1), 0);
    chip.write(loads(0x80, 1), 10);
    expect([chip.cells[0x40], chip.cells[0x80], chip.cycleCount]).toEqual([0xff, 1, 2]);
  });

  const chosen = async (faults: object) => {
    const talk = await converse({ chip: { cells: 0x2000, page: 0x40, cycleUs: 5000, codes: true, ...faults } });
    await talk.wait(100);
    await talk.ask('01 chip 2000 40 2710 96 2 1');
    return talk;
  };

  test('when the chip is never ready then the writer says so', async () => {
    const { ask } = await chosen({ faults: [{ kind: 'never-ready' }] });
    expect(await ask('02 write 10 Zm9v')).toEqual(['02 no B 12']);
  });

  test('when the chip is slower than said then the writer says so', async () => {
    const { ask } = await chosen({ cycleUs: 30_000 });
    expect(await ask('02 write 10 Zm9v')).toEqual(['02 no B 12']);
  });

  test('when the chip is protected then the writer tells the first cell that did not take', async () => {
    const { ask } = await chosen({ protected: true });
    expect(await ask('02 write 10 Zm9v')).toEqual(['02 no C 10 66 FF']);
    expect(await ask('03 unprotect')).toEqual(['03 ok']);
    expect(await ask('04 write 10 Zm9v')).toEqual(['04 ok']);
  });

  test('when the socket is empty then reading brings the last charge back, and presence refuses', async () => {
    const { ask } = await chosen({ faults: [{ kind: 'absent' }] });
    expect(await ask('02 presence 0')).toEqual(['02 no A FF']);
    expect(await ask('03 read 0 3')).toEqual(['03 data 0 ////', '03 ok FFFFFF00']);
  });
});

describe('wiring', () => {
  const address = (wanted: number, ...faults: WiringFault[]): number =>
    chipWiring(faults, seededRandom(5)).address(wanted);

  test('when address lines are crossed, stuck, inverted or shorted then the chip sees another address', () => {
    expect(address(0b0001, { kind: 'crossed', lines: ['A0', 'A3'] })).toBe(0b1000);
    expect(address(0b0011, { kind: 'stuck', line: 'A0', level: 0 })).toBe(0b0010);
    expect(address(0b0011, { kind: 'inverted', line: 'A2' })).toBe(0b0111);
    expect(address(0b0001, { kind: 'shorted', lines: ['A0', 'A1'], wins: 'low' })).toBe(0);
    expect(address(0b0001, { kind: 'shorted', lines: ['A0', 'A1'], wins: 'high' })).toBe(3);
    expect(address(0b0001, { kind: 'crossed', lines: ['D0', 'D3'] })).toBe(1);
  });

  test('when an address line is open then it has one level all the time', () => {
    const open = chipWiring([{ kind: 'open', line: 'A4' }], seededRandom(5));
    expect(open.address(0x00)).toBe(open.address(0x10));
  });

  test('when data lines are wrong then what is written and read back through them agrees where it can', async () => {
    const { ask, mock, wait } = await converse({
      wiring: [
        { kind: 'crossed', lines: ['D0', 'D7'] },
        { kind: 'inverted', line: 'D7' },
      ],
    });
    await wait(100);
    await ask('01 chip 8000 40 2710 96 2 1');
    expect(await ask('02 write 0 Zm9v')).toEqual(['02 ok']);
    expect([...mock.chip.cells.subarray(0, 3)]).not.toEqual([102, 111, 111]);
    expect((await ask('03 read 0 3'))[0]).toBe('03 data 0 Zm9v');
  });

  test('when a data line is open then presence tells which', async () => {
    const { ask, wait } = await converse({ wiring: [{ kind: 'open', line: 'D5' }] });
    await wait(100);
    await ask('01 chip 8000 40 2710 96 2 1');
    expect(await ask('02 presence 0')).toEqual(['02 ok 20']);
  });
});
