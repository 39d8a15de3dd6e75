// What an emulated bench is between commands: the chip with its contents, wear and faults, and how the bench is built.
import { capabilities, strictestMember } from '../chip/chip-table.js';
import type { Part } from '../chip/part.js';
import { crc32IsoHdlc } from '../ground/check-sums.js';
import { ToolError } from '../ground/errors.js';
import { type BenchFault, parseFault, saysNone, spellFault } from './chip-fault.js';

export interface BenchState {
  /** The real part that is seated; never a family. */
  readonly part: Part;
  /** True contents, one byte a cell. */
  readonly cells: Uint8Array;
  /** Write cycles that each cell has seen. */
  readonly wear: Uint32Array;
  /** Software data protection is on. */
  protectionOn: boolean;
  /** How long this chip's write cycle takes, microseconds. */
  readonly cycleUs: number;
  /** Decides everything that is left to chance. */
  readonly seed: number;
  /** How long a USB adapter holds back what the writer says, milliseconds. */
  readonly answerDelayMs: number;
  /** 74HC595 address registers fitted, and whether the last one's serial output is wired back to the writer. */
  readonly registers: 2 | 3;
  readonly chainReturn: boolean;
  readonly faults: readonly BenchFault[];
  /** Rules of data sheets broken by the writer so far. */
  violations: number;
  /** Times the bench was switched on. */
  starts: number;
}

export interface NewBench {
  /** A part, or a family: then its strictest member is seated. */
  readonly part: Part;
  /** Contents from cell 0; missing cells are FF, which is also the whole default. */
  readonly contents?: Uint8Array;
  /** Default: the longest that the part's row allows. 100 to 1000000. */
  readonly cycleUs?: number;
  /** Default 1. */
  readonly seed?: number;
  /** 0 to 16; default 0. */
  readonly answerDelayMs?: number;
  /** Default: as many as the part's address needs, at least 2. */
  readonly registers?: 2 | 3;
  /** Default: wired. */
  readonly chainReturn?: boolean;
  /** In the words of `parseFault`. */
  readonly faults?: readonly string[];
}

/** A new bench with a fresh chip. Throws emulator.bench-option, emulator.fault or chip.wiring-fault. */
export function newBenchState(bench: NewBench): BenchState {
  const part = strictestMember(bench.part);
  const cells = new Uint8Array(part.cells).fill(0xff);
  const contents = bench.contents ?? new Uint8Array();
  if (contents.length > part.cells) {
    throw option(`contents of ${contents.length} bytes`, `at most the ${part.cells} cells of ${part.name}`);
  }
  cells.set(contents);
  const state: BenchState = {
    part,
    cells,
    wear: new Uint32Array(part.cells),
    protectionOn: false,
    cycleUs: bench.cycleUs ?? part.cycleMaxUs.value,
    seed: bench.seed ?? 1,
    answerDelayMs: bench.answerDelayMs ?? 0,
    registers: bench.registers ?? (capabilities(part).addressRegisters > 2 ? 3 : 2),
    chainReturn: bench.chainReturn ?? true,
    faults: [],
    violations: 0,
    starts: 0,
  };
  if (!(state.cycleUs >= 100 && state.cycleUs <= 1_000_000)) {
    throw option(`a write cycle of ${state.cycleUs} us`, '100 us to 1 s');
  }
  if (!(state.answerDelayMs >= 0 && state.answerDelayMs <= 16)) {
    throw option(`an answer delay of ${state.answerDelayMs} ms`, '0 to 16 ms, as USB adapters have it');
  }
  return (bench.faults ?? []).reduce(applyFault, state);
}

const option = (what: string, wanted: string) => new ToolError('emulator.bench-option', { what, wanted });

/**
 * The same bench with one more fault, in the words of `parseFault`; `none` takes all faults away (protection stays as it is).
 * Throws emulator.fault, chip.wiring-fault, or emulator.bench-option where the part cannot have it.
 */
export function applyFault(state: BenchState, text: string): BenchState {
  if (saysNone(text)) return { ...state, faults: [] };
  const fault = parseFault(text, state.part.cells);
  if (fault.kind === 'protected') {
    if (!state.part.protection.value) {
      throw option(
        `the fault "protected" with ${state.part.name} in its socket`,
        'a part that has software data protection',
      );
    }
    return { ...state, protectionOn: true };
  }
  if (fault.kind === 'decayed') {
    // Done once and healed by a write, so it is a change of the cell and not a lasting fault.
    const cells = state.cells.slice();
    cells[fault.address]! ^= 1 << (Math.imul(state.seed + fault.address, 0x9e3779b1) >>> 29);
    return { ...state, cells };
  }
  const spell = (f: BenchFault): string => spellFault(f, state.part.cells);
  return state.faults.some((f) => spell(f) === spell(fault)) ? state : { ...state, faults: [...state.faults, fault] };
}

/** A bench as facts for people and scripts. */
export interface BenchDescription {
  readonly part: string;
  readonly maker: string;
  readonly cells: number;
  readonly pageBytes: number;
  readonly cycleUs: number;
  readonly protectionOn: boolean;
  readonly seed: number;
  readonly answerDelayMs: number;
  readonly registers: number;
  readonly chainReturn: boolean;
  readonly faults: readonly string[];
  readonly violations: number;
  readonly starts: number;
  readonly contents: { readonly crc32: number; readonly cellsNotBlank: number };
  readonly wear: { readonly highest: number; readonly cellsWritten: number; readonly endurance: number };
}

export function describeBench(state: BenchState): BenchDescription {
  const { part, cells, wear } = state;
  return {
    part: part.name,
    maker: part.maker,
    cells: part.cells,
    pageBytes: part.pageBytes.value,
    cycleUs: state.cycleUs,
    protectionOn: state.protectionOn,
    seed: state.seed,
    answerDelayMs: state.answerDelayMs,
    registers: state.registers,
    chainReturn: state.chainReturn,
    faults: state.faults.map((fault) => spellFault(fault, part.cells)),
    violations: state.violations,
    starts: state.starts,
    contents: { crc32: crc32IsoHdlc(cells), cellsNotBlank: cells.reduce((n, b) => n + (b === 0xff ? 0 : 1), 0) },
    wear: {
      highest: wear.reduce((highest, w) => Math.max(highest, w), 0),
      cellsWritten: wear.reduce((n, w) => n + (w === 0 ? 0 : 1), 0),
      endurance: part.endurance.value,
    },
  };
}
