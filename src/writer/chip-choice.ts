// What the writer is told about a part: its geometry and times, taken from the chip table with a margin.
import type { Part } from '../chip/part.js';
import { ToolError } from '../ground/errors.js';
import type { ChipChoice } from '../protocol/message.js';

/** Longest `cycle` of the request `chip`, microseconds (firmware-protocol.md section 4). */
const cycleLimitUs = 100_000;

export interface ChoiceOptions {
  /**
   * `prefix`: send the protection codes before every block, which writes a protected chip and leaves it protected.
   * `codes`: send them only when protect or unprotect is asked for. Default `codes`.
   */
  readonly protection?: 'codes' | 'prefix';
  /** Gives a write cycle all the time that a writer can wait: for a chip that was found slower than its row. */
  readonly patient?: boolean;
}

/**
 * The `chip` request for a part. The limit of a write cycle lies a quarter and 500 us above the row's longest: polling
 * ends a cycle when it is over, so the margin costs nothing until a chip is slower than its data sheet.
 * Throws chip.no-protection where the prefix is asked of a part without codes.
 */
export function chipChoice(part: Part, { protection = 'codes', patient = false }: ChoiceOptions = {}): ChipChoice {
  if (!part.protection.value && protection === 'prefix') throw new ToolError('chip.no-protection', { chip: part.name });
  return {
    cells: part.cells,
    page: part.pageBytes.value,
    cycleUs: patient ? cycleLimitUs : Math.min(cycleLimitUs, Math.ceil(part.cycleMaxUs.value * 1.25) + 500),
    windowUs: part.loadWindowMaxUs?.value ?? 0,
    poll: part.polling.value,
    protection: part.protection.value ? protection : 'none',
  };
}

/** Milliseconds that the writer may need for one block of `count` bytes: every write cycle at its limit. */
export function blockLimitMs(choice: ChipChoice, count: number): number {
  const cycles = choice.page === 1 ? count : 1;
  // Two windows: behind the block's own loads, and where the codes go first, behind those.
  return (cycles * (choice.cycleUs + 2 * choice.windowUs)) / 1000 + count * cellMs;
}

/** Loading or reading one cell, generously: the slowest inner loop is some 100 processor cycles at 16 MHz. */
export const cellMs = 0.01;
