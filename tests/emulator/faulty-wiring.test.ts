// Faults between the writer's lines and the chip's pins, as they look from both ends.
import { expect, test } from 'vitest';
import { parseWiringFault } from '../../src/chip/wiring-fault.js';
import { DataBus } from '../../src/emulator/data-bus.js';
import { FaultyWiring } from '../../src/emulator/faulty-wiring.js';
import { ScriptedSocket } from './scripted-socket.js';

const wired = (...texts: string[]) => new FaultyWiring(texts.map(parseWiringFault), 0b1010);
const wires = (...texts: string[]) => ({ wires: texts.map(parseWiringFault) });

test.each([
  ['A0 A3 crossed', 0b0001, 0b1000],
  ['A0 stuck 1', 0b0110, 0b0111],
  ['A1 stuck 0', 0b0110, 0b0100],
  ['A2 inverted', 0b0001, 0b0101],
  ['A0 A1 shorted low', 0b0001, 0b0000],
  ['A0 A1 shorted high', 0b0001, 0b0011],
  ['A1 open', 0b0000, 0b0010],
  ['A2 open', 0b0100, 0b0000],
])('when %s, then address %i arrives as %i', (text, sent, arrives) => {
  expect(wired(text).address(sent)).toBe(arrives);
});

test('when two faults meet on one line, then they follow each other', () => {
  expect(wired('A0 A1 crossed', 'A1 stuck 1').address(0b00)).toBe(0b10);
});

test('when data lines are crossed, then the writer that wrote so reads back what it wrote', () => {
  const s = new ScriptedSocket(wires('D0 D7 crossed'));
  s.pulse(0, 0x01);
  s.waitOut();
  expect([s.cells.bytes[0], s.read(0)]).toEqual([0x80, 0x01]);
});

test('when a data line is stuck, then it is so in the chip and in every reading', () => {
  const s = new ScriptedSocket(wires('D3 stuck 1'));
  s.pulse(0, 0x00);
  s.waitOut();
  expect([s.cells.bytes[0], s.read(0)]).toEqual([0x08, 0x08]);
});

test('when data lines are shorted, then both carry the winner, both ways', () => {
  const s = new ScriptedSocket({ ...wires('D0 D1 shorted low'), contents: () => 0x02 });
  expect(s.read(5)).toBe(0x00);
  s.pulse(0, 0x01);
  s.waitOut();
  expect(s.cells.bytes[0]).toBe(0x00);
});

test('when the writer drives stuck or joined lines itself, then its pins read what the lines carry', () => {
  const bus = new DataBus(wired('D3 stuck 1', 'D0 D1 shorted low', 'D6 D7 crossed'), 0);
  expect(bus.overruled).toBe(0b0000_1011);
  for (const [driven, read] of [
    [0x00, 0x08],
    [0x01, 0x08],
    [0x43, 0x4b],
  ] as const) {
    bus.drive(0xff, driven);
    expect(bus.atWriter(null, 0)).toBe(read);
  }
});

test('when a data line is open, then the writer reads the charge it left, and the chip takes the charge of its own end', () => {
  const s = new ScriptedSocket({ ...wires('D3 open'), contents: () => 0x08 });
  s.drive(0xff, 0x00);
  s.ns(200);
  s.drive(0, 0);
  expect(s.read(1)).toBe(0x00);
  // The chip's own end kept the 1 that it put out just now.
  s.pulse(0, 0x00);
  s.waitOut();
  expect(s.cells.bytes[0]).toBe(0x08);
  s.drive(0xff, 0x08);
  s.ns(200);
  s.drive(0, 0);
  expect(s.read(0)).toBe(0x08);
});

test('when address lines are crossed, then writer and chip disagree about the cell, and the writer cannot tell', () => {
  const s = new ScriptedSocket(wires('A0 A4 crossed'));
  s.pulse(0x01, 0x77);
  s.waitOut();
  expect([s.cells.bytes[0x01], s.cells.bytes[0x10], s.read(0x01)]).toEqual([0xff, 0x77, 0x77]);
});
