// Each strict rule fires when it is broken, and only then. Times are those of the AT28C64B and AT28C64 rows of the chip table.
import { expect, test } from 'vitest';
import { CE, OE, WE } from '../../src/emulator/chip-socket.js';
import { ScriptedSocket } from './scripted-socket.js';

const brokenBy = (act: (s: ScriptedSocket) => void, part = 'AT28C64B') => {
  const socket = new ScriptedSocket({ part });
  act(socket);
  return socket.broken;
};

test('when a whole page is written and read with lawful times, then nothing is reported', () => {
  const s = new ScriptedSocket();
  for (let a = 0; a < 64; a++) s.pulse(0x40 + a, a);
  s.waitOut();
  const read = Array.from({ length: 64 }, (_, a) => s.read(0x40 + a));
  expect(read).toEqual(Array.from({ length: 64 }, (_, a) => a));
  expect(s.broken).toEqual([]);
});

test('when the write pulse is too short, then it is reported', () => {
  expect(brokenBy((s) => s.pulse(0, 1, { widthNs: 90, dataNs: 90 }))).toEqual(['write-pulse-too-short']);
});

test('when the write pulse is longer than the part allows, then it is reported, and a part without a limit does not mind', () => {
  expect(brokenBy((s) => s.pulse(0, 1, { widthNs: 1100 }), 'AT28C64')).toEqual(['write-pulse-too-long']);
  expect(brokenBy((s) => s.pulse(0, 1, { widthNs: 1100 }))).toEqual([]);
});

test('when /WE is high too shortly between two loads, then it is reported', () => {
  const broken = brokenBy((s) => {
    s.pulse(0, 1);
    s.us(1);
    for (let i = 0; i < 2; i++) {
      s.drive(0xff, 1);
      s.control(OE);
      s.ns(200);
      s.control(OE | WE);
      s.ns(30);
    }
  });
  expect(broken).toEqual(['write-pulse-high-too-short']);
});

test('when the address moves right before the pulse, then the register delay (53 ns) is counted', () => {
  expect(brokenBy((s) => s.pulse(1, 1, { setupNs: 40 }))).toEqual(['address-setup-too-short']);
  expect(brokenBy((s) => s.pulse(1, 1, { setupNs: 54 }))).toEqual([]);
});

test('when the address moves inside its hold time, then it is reported', () => {
  expect(brokenBy((s) => s.pulse(2, 1, { addressHoldNs: 30 }))).toEqual(['address-hold-too-short']);
  expect(brokenBy((s) => s.pulse(2, 1, { addressHoldNs: 60 }))).toEqual([]);
});

test('when data comes too late before the end of the pulse, then it is reported', () => {
  expect(brokenBy((s) => s.pulse(0, 1, { dataNs: 40 }))).toEqual(['data-setup-too-short']);
});

test('when data goes too soon after the pulse, then it is reported', () => {
  expect(brokenBy((s) => s.pulse(0, 1, { holdNs: 0 }), 'AT28C64')).toEqual(['data-hold-too-short']);
  expect(brokenBy((s) => s.pulse(0, 1, { holdNs: 11 }), 'AT28C64')).toEqual([]);
});

test('when a pulse ends with data lines undriven, then it is reported', () => {
  expect(brokenBy((s) => s.pulse(0, 1, { driven: 0xfe }))).toEqual(['write-with-undriven-data']);
});

test('when /OE goes low inside a pulse, then it is reported and nothing is loaded', () => {
  const s = new ScriptedSocket();
  s.control(OE);
  s.ns(200);
  s.control(0);
  expect(s.broken).toContain('write-broken-off');
  expect(s.chip!.isBusy(s.at)).toBe(false);
});

test('when /WE goes low with the outputs on, then it is reported', () => {
  expect(
    brokenBy((s) => {
      s.control(WE);
      s.ns(200);
      s.control(0);
    }),
  ).toContain('write-with-outputs-on');
});

test('when the writer drives the bus while the chip does, then it is contention, whoever came first', () => {
  expect(
    brokenBy((s) => {
      s.drive(0x01, 0);
      s.ns(100);
      s.control(WE);
    }),
  ).toEqual(['bus-contention']);
  expect(
    brokenBy((s) => {
      s.control(WE);
      s.ns(500);
      s.drive(0xff, 0xff);
    }),
  ).toEqual(['bus-contention']);
});

test('when the writer drives before the outputs are off (60 ns after /OE), then it is contention', () => {
  const after = (ns: number) =>
    brokenBy((s) => {
      s.control(WE);
      s.ns(500);
      s.control(WE | OE);
      s.ns(ns);
      s.drive(0xff, 0);
    });
  expect(after(50)).toEqual(['bus-contention']);
  expect(after(62.5)).toEqual([]);
});

test('when data is sampled before the access time, then it is reported and need not be right', () => {
  const s = new ScriptedSocket({ contents: () => 0x5a });
  s.control(CE | OE | WE);
  s.us(1);
  s.control(WE);
  // tCE 150 ns at least (AT28C64B-15, AC read characteristics).
  s.ns(140);
  s.socket.sample(s.at, 0);
  expect(s.broken).toEqual(['read-before-access-time']);
  s.us(1);
  expect(s.socket.sample(s.at, 0)).toBe(0x5a);
  expect(s.broken).toHaveLength(1);
});

test('when a sample falls before the last edge, then it shows the bus as it was', () => {
  const s = new ScriptedSocket({ contents: (a) => a });
  s.address(7);
  s.control(WE);
  s.us(1);
  s.control(WE | OE);
  expect(s.socket.sample(s.at - 0.5, 0)).toBe(7);
});

test('when a load comes after the window has closed, then it is reported as such, and is not written', () => {
  const s = new ScriptedSocket();
  s.pulse(0x10, 1);
  s.us(160);
  s.pulse(0x11, 2);
  s.waitOut();
  expect(s.broken).toEqual(['byte-load-outside-window']);
  expect([s.cells.bytes[0x10], s.cells.bytes[0x11]]).toEqual([1, 0xff]);
});

test('when a load comes long after, in the write cycle, then it is a write while busy', () => {
  expect(
    brokenBy((s) => {
      s.pulse(0x10, 1);
      s.us(5000);
      s.pulse(0x11, 2);
    }),
  ).toEqual(['write-while-busy']);
});

test('when a load goes to another page, then it is reported, and the seed decides which page gets it', () => {
  const outcomes = new Set<string>();
  for (let seed = 1; seed < 20; seed++) {
    const s = new ScriptedSocket({ seed });
    s.pulse(0x3f, 1);
    s.pulse(0x40, 2);
    s.waitOut();
    expect(s.broken).toEqual(['byte-load-outside-page']);
    outcomes.add([0x00, 0x3f, 0x40, 0x7f].map((a) => s.cells.bytes[a]).join());
  }
  expect([...outcomes].sort()).toEqual(['2,1,255,255', '255,255,2,1']);
});

test('when a write comes in the first 5 ms after power-up, then it is reported and refused', () => {
  const s = new ScriptedSocket();
  s.at = 0;
  s.pulse(0, 1);
  s.waitOut();
  expect(s.broken).toEqual(['write-after-power-up']);
  expect(s.cells.bytes[0]).toBe(0xff);
});

test('when the socket is empty, then the lines keep their charge, follow the pull-ups, and no rule of a chip fires', () => {
  const s = new ScriptedSocket({ empty: true });
  s.pulse(0, 0x5a);
  expect(s.read(0)).toBe(0x5a);
  expect(s.read(0, 10)).toBe(0x5a);
  expect(s.read(0, 400, 0xff)).toBe(0xff);
  expect(s.broken).toEqual([]);
});
