// Watches the chip's pins on an emulated bench: how many cycles lie between two loads and between two cells read, and when
// the writer let go of the chip after a block.
import { CE, ChipSocket, OE, WE } from '../src/emulator/chip-socket.js';

/** Edges further apart than this do not belong to one run of an inner loop. */
const runCycles = 160;

export class PinWatch {
  /** Cycles from one falling edge of /WE to the next, inside a run. */
  readonly loadGaps: number[] = [];
  /** Cycles from one address to the next while the outputs are on. */
  readonly readGaps: number[] = [];
  /** When /CE went high. */
  readonly released: number[] = [];
  #control = CE | OE | WE;
  #lastLoad = Number.NEGATIVE_INFINITY;
  #lastAddress = Number.NEGATIVE_INFINITY;

  control(control: number, cycle: number): void {
    const fell = this.#control & ~control;
    const rose = control & ~this.#control;
    this.#control = control;
    if (rose & CE) this.released.push(cycle);
    if (rose & OE || fell & OE) this.#lastAddress = Number.NEGATIVE_INFINITY;
    if (!(fell & WE)) return;
    if (cycle - this.#lastLoad < runCycles) this.loadGaps.push(cycle - this.#lastLoad);
    this.#lastLoad = cycle;
  }

  address(cycle: number): void {
    if (this.#control & (CE | OE)) return;
    if (cycle - this.#lastAddress < runCycles) this.readGaps.push(cycle - this.#lastAddress);
    this.#lastAddress = cycle;
  }
}

let watching: PinWatch | null = null;

/** Watches whatever bench runs from now on, until the next call. */
export function watchPins(): PinWatch {
  if (watching === null) hookSocket();
  watching = new PinWatch();
  return watching;
}

function hookSocket(): void {
  const { controlChanged, addressChanged } = ChipSocket.prototype;
  ChipSocket.prototype.controlChanged = function (control, cycle) {
    watching?.control(control, cycle);
    controlChanged.call(this, control, cycle);
  };
  ChipSocket.prototype.addressChanged = function (before, cycle) {
    watching?.address(cycle);
    addressChanged.call(this, before, cycle);
  };
}
