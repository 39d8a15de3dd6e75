// How the mock writer carries out one block: load, wait for the end of the cycle, read back, compare.

import type { ByteLoad } from '../../src/chip/byte-load.js';
import { fieldOfNumber, fixed } from '../../src/protocol/field-kind.js';
import type { ChipChoice } from '../../src/protocol/message.js';
import { refusalNumber } from '../../src/protocol/refusals.js';
import type { ChipBus } from './chip-bus.js';
import { protectCodes } from './mock-chip.js';
import type { WriterRules } from './writer-rules.js';

/** Null: all cells are equal. */
export type BlockRefusal = { readonly refusal: number; readonly fields: readonly string[] } | null;

export interface BlockTools {
  readonly bus: ChipBus;
  readonly choice: ChipChoice;
  readonly rules: WriterRules;
  /** Calls back after this time, unless the writer restarts before. */
  later(ms: number, callback: () => void): void;
  /** A write cycle begins. */
  cycleBegins(): void;
}

/** About what a load or a compare costs on an 8-bit microcontroller at 16 MHz; no test depends on the figure. */
const perByteMs = 0.002;
const byte2 = fixed(2);

/** One write cycle with these loads; calls back when it ended, true when it did so within its limit. */
export function writeCycle(tools: BlockTools, loads: readonly ByteLoad[], done: (ended: boolean) => void): void {
  const { bus, choice, later } = tools;
  later(loads.length * perByteMs, () => {
    bus.write(loads);
    tools.cycleBegins();
    // Waiting by limit lasts as long as polling may at most.
    const limitMs = (choice.windowUs + choice.cycleUs) / 1000;
    const polls = choice.poll !== 'limit' || !tools.rules.waitsOutLimit;
    const restMs = Math.max(choice.windowUs / 1000, bus.restOfCycleMs());
    later(polls ? Math.min(restMs, limitMs) : limitMs, () => done(bus.restOfCycleMs() === 0));
  });
}

/** Carries out one block and tells its refusal, or null when all of it is in the chip. */
export function writeBlock(
  tools: BlockTools,
  address: number,
  bytes: Uint8Array,
  done: (refusal: BlockRefusal) => void,
): void {
  const { choice } = tools;
  if (choice.page === 1) {
    writeCells(tools, address, bytes, 0, done);
    return;
  }
  const loads = [...bytes].map((byte, place) => ({ address: address + place, byte }));
  writeCycle(tools, withPrefix(tools, loads), (ended) => {
    if (!ended) done(neverReady(address + bytes.length - 1));
    else tools.later(bytes.length * perByteMs, () => done(firstMismatch(tools, address, bytes)));
  });
}

/** Cell by cell from `place`: equal cells cost no cycle, the first that does not take ends the block. */
function writeCells(
  tools: BlockTools,
  address: number,
  bytes: Uint8Array,
  place: number,
  done: (refusal: BlockRefusal) => void,
): void {
  const { bus, rules, later } = tools;
  if (place === bytes.length) {
    done(null);
    return;
  }
  const cell = address + place;
  const byte = bytes[place]!;
  const next = (): void => writeCells(tools, address, bytes, place + 1, done);
  if (rules.skipsEqualCells && bus.read(cell) === byte) {
    later(perByteMs, next);
    return;
  }
  writeCycle(tools, withPrefix(tools, [{ address: cell, byte }]), (ended) => {
    const refusal = ended ? firstMismatch(tools, cell, Uint8Array.of(byte)) : neverReady(cell);
    if (refusal) done(refusal);
    else next();
  });
}

const withPrefix = ({ choice, rules }: BlockTools, loads: ByteLoad[]): ByteLoad[] =>
  choice.protection === 'prefix' && rules.sendsPrefix ? [...protectCodes, ...loads] : loads;

const neverReady = (address: number): BlockRefusal => ({
  refusal: refusalNumber.neverReady,
  fields: [fieldOfNumber(address)],
});

function firstMismatch({ bus, rules }: BlockTools, address: number, bytes: Uint8Array): BlockRefusal {
  if (!rules.compares) return null;
  for (const [place, wanted] of bytes.entries()) {
    const actual = bus.read(address + place);
    if (actual !== wanted) {
      const fields = [fieldOfNumber(address + place), byte2.write(wanted), byte2.write(actual)];
      return { refusal: refusalNumber.mismatch, fields };
    }
  }
  return null;
}
