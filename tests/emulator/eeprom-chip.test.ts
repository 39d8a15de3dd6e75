// The chip as its data sheet describes it: pages, polling, protection, wear, power. Rows: AT28C64B, AT28C64, AT28C256, AT28C010.
import { expect, test } from 'vitest';
import { OE, WE } from '../../src/emulator/chip-socket.js';
import { ScriptedSocket } from './scripted-socket.js';

const load = (s: ScriptedSocket, loads: readonly (readonly [number, number])[]) => {
  for (const [address, data] of loads) s.pulse(address, data);
};
// AT28C64B software data protection, enable and disable: Microchip AT28C64B data sheet (software data protection algorithms, 13 address lines).
const enable13 = [
  [0x1555, 0xaa],
  [0x0aaa, 0x55],
  [0x1555, 0xa0],
] as const;
const disable13 = [
  [0x1555, 0xaa],
  [0x0aaa, 0x55],
  [0x1555, 0x80],
  [0x1555, 0xaa],
  [0x0aaa, 0x55],
  [0x1555, 0x20],
] as const;
// AT28C256 software data protection (15 address lines).
const enable15 = [
  [0x5555, 0xaa],
  [0x2aaa, 0x55],
  [0x5555, 0xa0],
] as const;

test('when some bytes of a page are loaded in any order, then only these change, in one write cycle', () => {
  const s = new ScriptedSocket({ contents: () => 0x11 });
  load(s, [
    [0x47, 1],
    [0x40, 2],
    [0x7f, 3],
  ]);
  s.waitOut();
  expect([0x40, 0x41, 0x47, 0x7f].map((a) => s.cells.bytes[a])).toEqual([2, 0x11, 1, 3]);
  expect(s.finished).toBe(1);
  expect([...s.cells.wear.subarray(0x40, 0x80)].filter((w) => w > 0)).toEqual([1, 1, 1]);
});

test('when the window has passed without a load, then the write cycle takes its time from there', () => {
  const s = new ScriptedSocket({ cycleUs: 3000 });
  s.pulse(0, 0x55);
  const loaded = s.at;
  s.us(140 + 3000);
  expect(s.chip!.isBusy(s.at)).toBe(true);
  s.at = loaded;
  s.us(151 + 3000);
  expect(s.chip!.isBusy(s.at)).toBe(false);
  expect(s.cells.bytes[0]).toBe(0x55);
});

test('when a part has no page mode, then each byte starts its own write cycle at once', () => {
  const s = new ScriptedSocket({ part: 'AT28C64' });
  s.pulse(0, 0x55);
  s.us(1001);
  s.pulse(1, 0x66);
  s.waitOut();
  expect([s.cells.bytes[0], s.cells.bytes[1]]).toEqual([0x55, 0x66]);
  expect(s.broken).toEqual([]);
});

test('when a busy chip is read, then bit 7 is the complement of the last byte and bit 6 toggles, until it is done', () => {
  const s = new ScriptedSocket();
  s.pulse(5, 0x80);
  s.us(200);
  const reads = Array.from({ length: 6 }, () => s.read(5));
  expect(reads.map((b) => b >> 7)).toEqual([0, 0, 0, 0, 0, 0]);
  const toggles = reads.map((b) => (b >> 6) & 1);
  expect(toggles.slice(1)).toEqual(toggles.slice(0, -1).map((t) => 1 - t));
  s.waitOut();
  expect([s.read(5), s.read(5)]).toEqual([0x80, 0x80]);
});

test('when a busy chip has no toggle bit, then only bit 7 says so', () => {
  const s = new ScriptedSocket({ part: 'AT28C64' });
  s.pulse(5, 0x7f);
  const reads = Array.from({ length: 30 }, () => s.read(5));
  expect(new Set(reads.map((b) => b >> 7))).toEqual(new Set([1]));
  expect(new Set(reads.map((b) => b & 0x3f)).size).toBeGreaterThan(4);
});

test('when protection is switched on, then writes without the prefix leave the cells alone but look busy', () => {
  const s = new ScriptedSocket();
  load(s, enable13);
  s.waitOut();
  expect(s.chip!.protectionOn).toBe(true);
  expect(s.cells.wear.every((w) => w === 0)).toBe(true);
  s.pulse(0x20, 0x12);
  s.us(1000);
  expect(s.chip!.isBusy(s.at)).toBe(true);
  expect(s.read(0x20) >> 7).toBe(1);
  s.waitOut();
  expect(s.cells.bytes[0x20]).toBe(0xff);
  expect(s.broken).toEqual([]);
});

test('when a block carries the prefix, then it is written, and protection stays on', () => {
  const s = new ScriptedSocket({ protectionOn: true });
  load(s, [...enable13, [0x20, 0x12], [0x21, 0x34]]);
  s.waitOut();
  expect([s.cells.bytes[0x20], s.cells.bytes[0x21], s.chip!.protectionOn]).toEqual([0x12, 0x34, true]);
  expect(s.broken).toEqual([]);
});

test('when protection is switched off, then plain writes take', () => {
  const s = new ScriptedSocket({ protectionOn: true });
  load(s, disable13);
  s.waitOut();
  expect(s.chip!.protectionOn).toBe(false);
  s.pulse(0x20, 0x12);
  s.waitOut();
  expect(s.cells.bytes[0x20]).toBe(0x12);
});

test('when the codes have 15 address lines, then a 15-line part takes them and a 13-line part sees them cut to its own', () => {
  for (const part of ['AT28C256', 'AT28C64B']) {
    const s = new ScriptedSocket({ part });
    load(s, enable15);
    s.waitOut();
    expect(s.chip!.protectionOn).toBe(true);
  }
});

test('when a code breaks off or has a wrong byte, then its bytes are data in three pages, and that is reported', () => {
  const s = new ScriptedSocket();
  load(s, [
    [0x1555, 0xaa],
    [0x0aaa, 0x55],
    [0x1555, 0xa1],
  ]);
  s.waitOut();
  expect(s.chip!.protectionOn).toBe(false);
  expect(s.broken).toContain('byte-load-outside-page');
});

test('when data only begins like a code, then it is data', () => {
  const s = new ScriptedSocket();
  load(s, [
    [0x1555, 0xaa],
    [0x1556, 0x55],
  ]);
  s.waitOut();
  expect([s.cells.bytes[0x1555], s.cells.bytes[0x1556], s.broken]).toEqual([0xaa, 0x55, []]);
});

test('when a part has no protection, then the codes are ordinary writes', () => {
  const s = new ScriptedSocket({ part: 'AT28C64' });
  for (const [address, data] of enable13) {
    s.pulse(address, data);
    s.us(1500);
  }
  s.waitOut();
  expect([s.cells.bytes[0x1555], s.cells.bytes[0x0aaa]]).toEqual([0xa0, 0x55]);
});

test('when the chip erase code comes, then every cell is FF after 20 ms', () => {
  const s = new ScriptedSocket({ contents: () => 0 });
  load(s, [...disable13.slice(0, 5), [0x1555, 0x10]]);
  s.us(19_000);
  expect(s.chip!.isBusy(s.at)).toBe(true);
  s.us(1500);
  s.chip!.settle(s.at);
  expect(s.cells.bytes.every((b) => b === 0xff)).toBe(true);
});

test('when an address is beyond the chip, then it wraps', () => {
  const s = new ScriptedSocket({ contents: (a) => a & 0xff });
  expect(s.read(0x2000 + 0x12)).toBe(0x12);
  s.pulse(0x6021, 0x99);
  s.waitOut();
  expect(s.cells.bytes[0x21]).toBe(0x99);
});

test('when a chip is smaller than said, then high addresses wrap at its true size', () => {
  const s = new ScriptedSocket({ faults: [{ kind: 'smaller', cells: 0x1000 }] });
  s.pulse(0x1005, 0x42);
  s.waitOut();
  expect([s.read(0x0005), s.read(0x1005)]).toEqual([0x42, 0x42]);
});

test('when a cell is weak, then one bit of it stays at one level, always the same', () => {
  const stored = (byte: number) => {
    const s = new ScriptedSocket({ faults: [{ kind: 'weak', address: 9 }] });
    s.pulse(9, byte);
    s.pulse(10, byte);
    s.waitOut();
    expect(s.cells.bytes[10]).toBe(byte);
    return s.cells.bytes[9]!;
  };
  const [low, high] = [stored(0x00), stored(0xff)];
  expect(stored(0x00)).toBe(low);
  const kept = low | (high ^ 0xff);
  expect([1, 2, 4, 8, 16, 32, 64, 128]).toContain(kept);
});

test('when a cell is worn beyond its endurance, then it behaves as a weak one', () => {
  const s = new ScriptedSocket();
  s.cells.wear[3] = s.part.endurance.value;
  s.pulse(3, 0x00);
  s.waitOut();
  s.pulse(3, 0xff);
  s.waitOut();
  const high = s.cells.bytes[3]!;
  s.pulse(3, 0x00);
  s.waitOut();
  expect([high, s.cells.bytes[3]]).not.toEqual([0xff, 0x00]);
});

test('when a page is dead, then it takes nothing, and its neighbours do', () => {
  const s = new ScriptedSocket({ faults: [{ kind: 'dead', address: 0x45 }] });
  s.pulse(0x7f, 1);
  s.waitOut();
  s.pulse(0x80, 2);
  s.waitOut();
  expect([s.cells.bytes[0x7f], s.cells.bytes[0x80]]).toEqual([0xff, 2]);
});

test('when a chip is slow, then its cycle takes four times the longest', () => {
  const s = new ScriptedSocket({ faults: [{ kind: 'slow' }] });
  s.pulse(0, 1);
  s.us(39_000);
  expect(s.chip!.isBusy(s.at)).toBe(true);
  s.us(1300);
  expect(s.chip!.isBusy(s.at)).toBe(false);
});

test('when a chip is never ready, then it polls busy for ever, until the power goes', () => {
  const s = new ScriptedSocket({ faults: [{ kind: 'never ready' }] });
  s.pulse(0, 0x01);
  s.us(10_000_000);
  expect(s.read(0) >> 7).toBe(1);
  s.chip!.powerDown(s.at);
  s.chip!.powerUp(s.at);
  expect(s.read(0)).toBe(0x01);
});

test('when power goes in a write cycle, then the page holds anything and the rest is untouched; the same seed gives the same', () => {
  const after = (seed: number) => {
    const s = new ScriptedSocket({ seed, contents: () => 0x33 });
    for (let a = 0; a < 64; a++) s.pulse(0x40 + a, 0x55);
    s.us(2000);
    s.chip!.powerDown(s.at);
    return s.cells.bytes;
  };
  const bytes = after(1);
  expect(bytes.subarray(0, 0x40).every((b) => b === 0x33) && bytes.subarray(0x80).every((b) => b === 0x33)).toBe(true);
  const page = new Set(bytes.subarray(0x40, 0x80));
  expect(page.has(0x33) && page.has(0x55) && page.size > 2).toBe(true);
  expect(after(1)).toEqual(bytes);
  expect(after(2)).not.toEqual(bytes);
});

test('when power goes while a page is still loading, then nothing is written', () => {
  const s = new ScriptedSocket();
  s.pulse(0, 1);
  s.us(50);
  s.chip!.powerDown(s.at);
  s.chip!.powerUp(s.at);
  s.waitOut();
  expect(s.cells.bytes[0]).toBe(0xff);
});

test('when a part has 128-byte pages, then one cycle takes 128 bytes', () => {
  const s = new ScriptedSocket({ part: 'AT28C010' });
  for (let a = 0; a < 128; a++) s.pulse(0x10080 + a, a);
  s.waitOut();
  expect([s.finished, s.cells.bytes[0x100ff], s.broken]).toEqual([1, 127, []]);
});

test('when outputs are on and the address moves on, then the new cell is read without a new /OE', () => {
  const s = new ScriptedSocket({ contents: (a) => a & 0xff });
  s.address(1);
  s.ns(100);
  s.control(WE);
  s.ns(400);
  expect(s.socket.sample(s.at, 0)).toBe(1);
  s.address(2);
  s.ns(400);
  expect(s.socket.sample(s.at, 0)).toBe(2);
  s.control(WE | OE);
  expect(s.broken).toEqual([]);
});
