// The three ports of the ATmega328P at the level of pins: when an output really changes, and what an input register shows.
// Not modelled: external and pin-change interrupts, and timer outputs, which no writer needs.
import type { CPU } from 'avr8js';
import { PINB, PINC, PIND } from './avr-registers.js';

/** What the pins are wired to. `cycle` counts the writer's clock and may be a half. */
export interface PinWorld {
  /** Output levels or directions of a port changed at `cycle`. */
  changed(port: Port, cycle: number): void;
  /** Levels on all eight pins of a port, as they were at `cycle`; only inputs and overruled outputs matter. */
  levels(port: Port, cycle: number): number;
  /** Pins on which an output may lose against the wire. A pin that is read shows its true level, driven or not (data sheet, reading the pin value). */
  overruled(port: Port): number;
}

export class Port {
  /** PORT and DDR as the pins follow them. */
  out = 0;
  direction = 0;
  /** The same before the last change: an input register still shows it for a moment. */
  outBefore = 0;
  directionBefore = 0;
  changedAt = 0;
  constructor(readonly letter: 'B' | 'C' | 'D') {}
}

const isOut = (opcode: number): boolean => (opcode & 0xf800) === 0xb800;
const isBitChange = (opcode: number): boolean => (opcode & 0xfd00) === 0x9800;

/** Hooks the registers of one port into the CPU. */
export function wirePort(cpu: CPU, letter: 'B' | 'C' | 'D', world: PinWorld): Port {
  const port = new Port(letter);
  const pin = { B: PINB, C: PINC, D: PIND }[letter];
  const { data, progMem } = cpu;

  const follow = (): void => {
    const out = data[pin + 2]!;
    const direction = data[pin + 1]!;
    if (out === port.out && direction === port.direction) return;
    port.outBefore = port.out;
    port.directionBefore = port.direction;
    port.out = out;
    port.direction = direction;
    // OUT takes one cycle; SBI, CBI and the stores take two, and the pin follows at the end.
    port.changedAt = cpu.cycles + (isOut(progMem[cpu.pc]!) ? 1 : 2);
    world.changed(port, port.changedAt);
  };
  cpu.writeHooks[pin + 1] = (value) => {
    data[pin + 1] = value;
    follow();
    return true;
  };
  cpu.writeHooks[pin + 2] = (value) => {
    data[pin + 2] = value;
    follow();
    return true;
  };
  // Writing ones to PIN toggles PORT; `mask` keeps SBI to its own bit.
  cpu.writeHooks[pin] = (value, _old, _address, mask) => {
    data[pin + 2]! ^= value & mask;
    follow();
    return true;
  };
  cpu.readHooks[pin] = () => {
    const opcode = progMem[cpu.pc]!;
    // SBI on PIN reads nothing on the real part.
    if (isBitChange(opcode)) return 0;
    // The input latch closes half a cycle before the register is read (data sheet, reading the pin value): an IN right
    // behind an OUT still sees the level in front of it. (At a load from memory avr8js has counted the first cycle already.)
    const cycle = cpu.cycles - 0.5;
    const old = cycle < port.changedAt;
    const direction = old ? port.directionBefore : port.direction;
    const out = old ? port.outBefore : port.out;
    const own = direction & ~world.overruled(port);
    return (out & own) | (world.levels(port, cycle) & ~own);
  };
  return port;
}
