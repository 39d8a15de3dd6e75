// Faults of the chip itself, their spelling, and how one text is told from a wiring fault.

import {
  examplesOf,
  type FaultShape,
  linesOf,
  parseWiringFault,
  spellWiringFault,
  type WiringFault,
  wiringFaultShapes,
} from '../chip/wiring-fault.js';
import { ToolError } from '../ground/errors.js';
import { addressText } from '../ground/quantity.js';

export type ChipFault =
  /** One bit of this cell never takes; which bit and at which level follows from the seed. */
  | { readonly kind: 'weak'; readonly address: number }
  /** One bit of this cell has lost its charge; the next write of the cell heals it. Which bit follows from the seed. */
  | { readonly kind: 'decayed'; readonly address: number }
  /** The page that holds this address takes no write. */
  | { readonly kind: 'dead'; readonly address: number }
  /** Software data protection is on. */
  | { readonly kind: 'protected' }
  /** Every write cycle takes four times the longest that the data sheet allows. */
  | { readonly kind: 'slow' }
  /** After a write the outputs stay those of a busy chip until the power goes. */
  | { readonly kind: 'never ready' }
  /** The socket is empty. */
  | { readonly kind: 'absent' }
  /** The chip has fewer cells than its name says, so that high addresses wrap. */
  | { readonly kind: 'smaller'; readonly cells: number };

export type BenchFault = ChipFault | WiringFault;

/** Every fault that a bench can have. */
export const faultShapes: Readonly<Record<BenchFault['kind'], FaultShape>> = {
  weak: { example: 'weak 0x12F', effect: 'one bit of this cell never takes' },
  decayed: {
    example: 'decayed 0x12F',
    effect: 'one bit of this cell flips, once; the next write of the cell heals it',
  },
  dead: { example: 'dead page 0x140', effect: 'the page of this address takes no write' },
  protected: { example: 'protected', effect: 'software data protection is on' },
  slow: { example: 'slow', effect: 'every write cycle takes four times the longest that the data sheet allows' },
  'never ready': { example: 'never ready', effect: 'after a write the chip stays busy until the power goes' },
  absent: { example: 'absent', effect: 'the socket is empty' },
  smaller: { example: 'smaller 0x2000', effect: 'the chip has only so many cells, and high addresses wrap' },
  ...wiringFaultShapes,
};

const plainKinds = ['protected', 'slow', 'never ready', 'absent'] as const;
const chipKinds = new Set<string>(['weak', 'decayed', 'dead', 'smaller', ...plainKinds]);

export const isChipFault = (fault: BenchFault): fault is ChipFault => chipKinds.has(fault.kind);

/**
 * Reads one fault in the words of `spellFault`. `cells` is the size of the chip that the fault is for.
 * Throws emulator.fault, or chip.wiring-fault where the text begins with a line.
 */
export function parseFault(text: string, cells: number): BenchFault {
  const words = text.trim().toLowerCase().split(/\s+/).join(' ');
  const fail = (problem: string): never => {
    throw new ToolError('emulator.fault', { text, problem, shapes: examplesOf(faultShapes) });
  };
  if (/^[ad]\d/.test(words)) {
    const fault = parseWiringFault(text);
    const last = Math.log2(cells) - 1;
    const beyond = linesOf(fault).find((line) => line[0] === 'A' && Number(line.slice(1)) > last);
    return beyond ? fail(`there is no ${beyond} at this chip, whose address lines are A0 to A${last}`) : fault;
  }
  const plain = plainKinds.find((k) => k === words);
  if (plain) return { kind: plain };
  const withNumber = /^(weak|decayed|dead page|smaller) (0x[0-9a-f]+|\d+)$/.exec(words);
  if (!withNumber) return fail('it is none of the faults that a bench knows');
  const value = Number(withNumber[2]);
  if (withNumber[1] === 'smaller') {
    const fits = value >= 256 && value < cells && (value & (value - 1)) === 0;
    return fits
      ? { kind: 'smaller', cells: value }
      : fail(`the size is no power of two from 0x100 to below ${addressText(cells, cells)}`);
  }
  if (value >= cells)
    return fail(`the address ${addressText(value, cells)} is beyond the last cell ${addressText(cells - 1, cells)}`);
  const kind = withNumber[1] === 'dead page' ? 'dead' : (withNumber[1] as 'weak' | 'decayed');
  return { kind, address: value };
}

/** The word that takes all faults away. */
export const saysNone = (text: string): boolean => text.trim().toLowerCase() === 'none';
export const noneEffect = 'all faults are taken away; what the chip holds and its protection stay';

/** A fault as it was asked for: its spelling, and what it does. Throws as `parseFault`. */
export function faultDone(text: string, cells: number): { readonly fault: string; readonly effect: string } {
  if (saysNone(text)) return { fault: 'none', effect: noneEffect };
  const fault = parseFault(text, cells);
  return { fault: spellFault(fault, cells), effect: faultShapes[fault.kind].effect };
}

/** One fault of a chip of this size in words that `parseFault` reads. */
export function spellFault(fault: BenchFault, cells: number): string {
  switch (fault.kind) {
    case 'weak':
      return `weak ${addressText(fault.address, cells)}`;
    case 'decayed':
      return `decayed ${addressText(fault.address, cells)}`;
    case 'dead':
      return `dead page ${addressText(fault.address, cells)}`;
    case 'smaller':
      return `smaller ${addressText(fault.cells, cells)}`;
    case 'protected':
    case 'slow':
    case 'never ready':
    case 'absent':
      return fault.kind;
    default:
      return spellWiringFault(fault);
  }
}
