// Puts a bench together from its state: registers, chip with its faults, wires, board.
import { type Random, seededRandom } from '../ground/random.js';
import { AddressRegisters } from './address-registers.js';
import type { BenchState } from './bench-state.js';
import { ChipCells } from './chip-cells.js';
import { isChipFault } from './chip-fault.js';
import { ChipSocket } from './chip-socket.js';
import { DataBus } from './data-bus.js';
import { type ChipSetup, EepromChip } from './eeprom-chip.js';
import { FaultyWiring } from './faulty-wiring.js';
import type { Report } from './violation.js';
import { WriterBoard } from './writer-board.js';

export interface WiredBench {
  readonly registers: AddressRegisters;
  /** Null: the socket is empty. */
  readonly chip: EepromChip | null;
  readonly board: WriterBoard;
}

/** A level for each of the 24 address lines, or a data byte at each end of the bus. */
const addressLevels = 0x1000000;
const busLevels = 0x10000;

export function wireBench(
  state: BenchState,
  random: Random,
  report: Report,
  told: Pick<ChipSetup, 'began' | 'finished'>,
): WiredBench {
  const registers = new AddressRegisters(state.registers, state.chainReturn, random, report);
  const chip = seatedChip(state, { random, report, ...told });
  // What is wired wrong stays wrong in the same way: its levels follow from the seed alone, not from the run.
  const fixed = seededRandom(state.seed);
  const wires = state.faults.filter((f) => !isChipFault(f));
  const wiring = new FaultyWiring(wires, fixed.below(addressLevels));
  // Address lines without a register are open at the socket.
  const unserved = fixed.below(addressLevels) & ~(2 ** (8 * state.registers) - 1);
  const addressLines = (): number => registers.outputs | unserved;
  const bus = new DataBus(wiring, random.below(busLevels));
  const socket = new ChipSocket(state.part, chip, bus, wiring, addressLines, random, report);
  return { registers, chip, board: new WriterBoard(registers, bus, socket) };
}

function seatedChip(
  state: BenchState,
  rest: Pick<ChipSetup, 'random' | 'report' | 'began' | 'finished'>,
): EepromChip | null {
  const { part, cells, wear, seed, protectionOn, cycleUs } = state;
  const faults = state.faults.filter(isChipFault);
  if (faults.some((f) => f.kind === 'absent')) return null;
  const array = new ChipCells(cells, wear, part.pageBytes.value, part.endurance.value, seed, faults);
  return new EepromChip({ part, cells: array, protectionOn, cycleUs, faults, ...rest });
}
