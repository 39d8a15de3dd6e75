// The mock writer as a bench: fast, and with every mishap there is.
import { pause } from '../../src/ground/clock.js';
import { MockChip, type MockChipOptions, type MockFault } from '../mock/mock-chip.js';
import { type MockWriter, mockWriter } from '../mock/mock-writer.js';
import { virtualClock } from '../mock/virtual-clock.js';
import { type Bench, betweenMs } from './bench.js';
import type { Scenario } from './scenario.js';
import { type Of, type Trouble, troublesAt } from './trouble.js';

/** The mock knows no wear: a worn page is one that takes nothing. */
function chipFault(trouble: Of<'chip'>): MockFault[] {
  switch (trouble.kind) {
    case 'weak':
      return [{ kind: 'weak-cell', address: trouble.address, bit: trouble.bit, level: trouble.level }];
    case 'unsteady':
      return [{ kind: 'unsteady-cell', address: trouble.address, bit: trouble.bit }];
    case 'dead':
    case 'worn':
      return [{ kind: 'dead-page', address: trouble.address }];
    case 'absent':
    case 'never-ready':
      return [{ kind: trouble.kind }];
    default:
      return [];
  }
}

/** How much longer than its row allows a slow chip takes. */
const slowness = 4;

function chipOptions(scenario: Scenario, troubles: readonly Of<'chip'>[]): MockChipOptions {
  const { seated, contents, cycleUs, seed } = scenario;
  const smaller = troubles.find((t) => t.kind === 'smaller');
  const cells = smaller?.kind === 'smaller' ? smaller.cells : seated.cells;
  const slow = troubles.some((t) => t.kind === 'slow');
  return {
    cells,
    page: seated.pageBytes.value,
    cycleUs: slow ? slowness * seated.cycleMaxUs.value : cycleUs,
    codes: seated.protection.value,
    protected: troubles.some((t) => t.kind === 'protected'),
    contents: contents.slice(0, cells),
    faults: troubles.flatMap(chipFault),
    seed,
  };
}

/** The cells as they read: on this chip a weak bit has its own level whatever was stored. */
function weakened(cells: Uint8Array, troubles: readonly Of<'chip'>[]): Uint8Array {
  const shown = cells.slice();
  for (const t of troubles)
    if (t.kind === 'weak' && t.address < shown.length)
      shown[t.address] = t.level === 1 ? shown[t.address]! | (1 << t.bit) : shown[t.address]! & ~(1 << t.bit);
  return shown;
}

/** Longer than anything stays on its way. */
const settleMs = 10_000;

/** `seat` makes the chip: another kind of chip than the mock's own, for the canaries. */
export function mockBench(
  scenario: Scenario,
  troubles: readonly Trouble[],
  seat: (options: MockChipOptions) => MockChip = (options) => new MockChip(options),
): Bench {
  const { seed, answerDelayMs, resetsOnOpen, chainReturn } = scenario;
  const chipTroubles = troublesAt(troubles, 'chip');
  const chip = seat(chipOptions(scenario, chipTroubles));
  const wiring = troublesAt(troubles, 'wires').map((t) => t.fault);
  const ofWriter = troublesAt(troubles, 'writer');
  const clock = virtualClock();
  const make = (passing: boolean): MockWriter => {
    const lacks = ofWriter.flatMap((t) => (t.kind === 'lacks' && passing ? [t.word] : []));
    const older = passing && ofWriter.some((t) => t.kind === 'older');
    return mockWriter({
      clock,
      chip,
      seed,
      wiring,
      answerDelayMs,
      resetsOnOpen,
      registers: chainReturn ? 2 : 0,
      lacks,
      ...(older && { limits: { version: 0 } }),
      mishaps: passing ? troublesAt(troubles, 'line').map((t) => t.mishap) : [],
    });
  };
  let writer = make(true);
  return {
    open: (path, options) => writer.open(path, options),
    clock,
    truth: () => weakened(chip.cells, chipTroubles),
    size() {
      const { toWriter, toHost, lines, cycles } = writer.counts();
      return { bytesToWriter: toWriter, bytesToHost: toHost, lines, cycles };
    },
    replug: () => pause(clock, betweenMs),
    async lift() {
      writer.unplug();
      writer.setMishaps([]);
      writer.reset();
      await pause(clock, settleMs);
      if (ofWriter.length > 0) writer = make(false);
    },
    ofChip: () => ({ wear: chip.wear.slice(), isProtected: chip.protected }),
    violations: () => [],
  };
}
