// The emulated bench with the real firmware as a bench of the simulation. What its line cannot do by itself (noise, lateness,
// lines heard twice) is done to the lines on their way.
import { readFileSync } from 'node:fs';
import { spellWiringFault } from '../../src/chip/wiring-fault.js';
import { bindingOf, openBenchLink } from '../../src/emulator/bench-link.js';
import { newBenchState } from '../../src/emulator/bench-state.js';
import { EmulatedBench } from '../../src/emulator/emulated-bench.js';
import type { BenchMishap, BytePlace } from '../../src/emulator/mishap.js';
import { pause } from '../../src/ground/clock.js';
import type { Link } from '../../src/link/link.js';
import { type Bench, betweenMs } from './bench.js';
import { LineTroubles } from './line-troubles.js';
import type { Scenario } from './scenario.js';
import { type Mishap, type Of, type Trouble, troublesAt } from './trouble.js';

let hex: string | null = null;
const firmware = (): string => {
  hex ??= readFileSync('firmware/romkiln-writer.hex', 'latin1');
  return hex;
};

/** How long the supply is away when it browns out. */
const offMs = 40;

/** A chip trouble in the bench's words; null for those that it does not know. */
function faultText(trouble: Of<'chip'>): string | null {
  switch (trouble.kind) {
    case 'weak':
      return `weak ${trouble.address}`;
    case 'dead':
      return `dead page ${trouble.address}`;
    case 'smaller':
      return trouble.cells >= 256 ? `smaller ${trouble.cells}` : null;
    case 'never-ready':
      return 'never ready';
    case 'absent':
    case 'protected':
    case 'slow':
      return trouble.kind;
    default:
      return null;
  }
}

/** What the bench can do by itself; the rest is done to the lines. Places are counted from 1 there. */
function benchMishaps(mishap: Mishap): BenchMishap[] {
  const place = (way: string, at: number): BytePlace =>
    way === 'to-writer' ? { byteToWriter: at + 1 } : { byteToHost: at + 1 };
  switch (mishap.kind) {
    case 'lost':
      return Array.from({ length: mishap.count }, (_, i) => ({
        kind: 'byte-lost',
        at: place(mishap.way, mishap.at + i),
      }));
    case 'flipped':
      return [{ kind: 'bit-flipped', at: place(mishap.way, mishap.at), bit: mishap.bit }];
    case 'doubled':
      return [{ kind: 'byte-doubled', at: place(mishap.way, mishap.at) }];
    case 'unplugged':
      return [{ kind: 'unplugged', at: place(mishap.way, mishap.at) }];
    case 'browns-out':
      return [{ kind: 'power-cut', at: { writeCycle: mishap.cycle, afterUs: 90 }, offMs }];
    default:
      return [];
  }
}

export function firmwareBench(scenario: Scenario, troubles: readonly Trouble[]): Bench {
  const { seated, seed, cycleUs, answerDelayMs, contents, resetsOnOpen, chainReturn } = scenario;
  const ofChip = troublesAt(troubles, 'chip');
  const state = newBenchState({
    part: seated,
    contents,
    seed,
    cycleUs,
    answerDelayMs,
    chainReturn,
    faults: [
      ...ofChip.flatMap((t) => faultText(t) ?? []),
      ...troublesAt(troubles, 'wires').map((t) => spellWiringFault(t.fault)),
    ],
  });
  const smaller = ofChip.find((t) => t.kind === 'smaller');
  const cells = smaller?.kind === 'smaller' && smaller.cells >= 256 ? smaller.cells : seated.cells;
  const page = seated.pageBytes.value;
  for (const t of ofChip)
    if (t.kind === 'worn') state.wear.fill(seated.endurance.value, t.address & -page, (t.address & -page) + page);
  const bench = new EmulatedBench({ state, firmware: firmware(), path: 'bench', resetOnOpen: resetsOnOpen });
  const mishaps = troublesAt(troubles, 'line').map((t) => t.mishap);
  bench.arrange(mishaps.flatMap(benchMishaps));
  const { clock } = bindingOf(bench);
  const lines = new LineTroubles(mishaps, troublesAt(troubles, 'writer'), bench);
  return {
    clock,
    open: async (_path, options): Promise<Link> => lines.around(await openBenchLink(bench, options)),
    truth: () => bench.truth.slice(0, cells),
    size: () => ({ bytesToWriter: 0, bytesToHost: 0, lines: 0, cycles: bench.writeCycles }),
    replug() {
      bench.plugIn();
      return pause(clock, betweenMs);
    },
    async lift() {
      lines.lift();
      bench.liftMishaps();
      bench.resetWriter();
      await pause(clock, 1000);
    },
    ofChip: () => null,
    violations: () => bench.violations.map((v) => v.rule),
  };
}
