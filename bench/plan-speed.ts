// From plans to images, and what check takes: in fresh processes, after the modules are loaded, as a user meets it.
import { readFileSync } from 'node:fs';
import { buildPlan, checkPlan, type Plan, planOfObject, readPlan } from '../src/plan/plan.js';
import { cpuMsOf, inFreshProcess } from './fresh-process.js';
import { figureRow, plainRow, type Row, type Section } from './row.js';

const rounds = 7;

/** Address lines of the parts from 2 KiB to 512 KiB. */
const sizes = [
  { chip: 'AT28C16', lines: 11 },
  { chip: 'AT28C64B', lines: 13 },
  { chip: 'AT28C256', lines: 15 },
  { chip: 'AT28C010', lines: 17 },
  { chip: 'AT28C040', lines: 19 },
] as const;

/** The barometer's table of the Skerry weather post: reading, temperature and a rounding input to one byte. */
function functionPlan({ chip, lines }: (typeof sizes)[number]): Plan {
  const pressure = lines - 5;
  const pins = (from: number, count: number) => Array.from({ length: count }, (_, i) => `A${from + i}`);
  return planOfObject(
    {
      plan: 'skerry-barometer',
      fields: { pressure, warmth: 4, half: 1 },
      contents: {
        kind: 'function',
        outputs: { reading: 8 },
        at: ({ pressure: p = 0, warmth = 0, half = 0 }) =>
          ((p * (64 + warmth)) / 2 ** (pressure - 2) + half / 2) & 0xff,
      },
      roms: {
        barometer: {
          chip,
          address: { pressure: pins(0, pressure), warmth: pins(pressure, 4), half: `A${lines - 1}` },
          data: { reading: ['D0', 'D1', 'D2', 'D3', 'D4', 'D5', 'D6', 'D7'] },
        },
      },
    },
    'barometer.js',
  );
}

interface Measured {
  /** The first time in its process, before anything is compiled. */
  readonly buildMs: number;
  readonly buildAgainMs: number;
  readonly checkMs: number;
  readonly bytes: number;
}

function measure(read: () => Plan): Measured {
  let bytes = 0;
  const buildMs = cpuMsOf(() => {
    bytes = buildPlan(read()).reduce((sum, rom) => sum + rom.image.bytes.length, 0);
  });
  const buildAgainMs = cpuMsOf(() => void buildPlan(read()));
  const checkMs = cpuMsOf(() => void checkPlan(read()));
  return { buildMs, buildAgainMs, checkMs, bytes };
}

export async function main([what]: readonly string[]): Promise<void> {
  const size = sizes.find((s) => s.chip === what);
  const sequencer = readFileSync(new URL('../images/skerry-sequencer.yaml', import.meta.url), 'utf8');
  const read = size ? () => functionPlan(size) : () => readPlan(sequencer, 'skerry-sequencer.yaml');
  process.stdout.write(JSON.stringify(measure(read)));
}

/** The best of several: whatever else the machine does only ever adds. */
function freshly(what: string): Measured {
  const all = Array.from({ length: rounds }, () => inFreshProcess<Measured>('plan-speed', [what]));
  const best = (figure: (m: Measured) => number): number => Math.min(...all.map(figure));
  return {
    buildMs: best((m) => m.buildMs),
    buildAgainMs: best((m) => m.buildAgainMs),
    checkMs: best((m) => m.checkMs),
    bytes: all[0]!.bytes,
  };
}

export function planSection(): Section {
  const store = freshly('sequencer');
  const rows: Row[] = [
    figureRow('control store 2 x 8 KiB, plan to images', store.buildMs, 'ms', 50, 1),
    figureRow('  the same again in the same process', store.buildAgainMs, 'ms', null, 1),
    figureRow('  check of it, all flag combinations', store.checkMs, 'ms', null, 1),
  ];
  for (const size of sizes) {
    const { buildMs, checkMs, bytes } = freshly(size.chip);
    const large = size.chip === 'AT28C040';
    const kib = bytes / 1024;
    rows.push(figureRow(`function plan of ${kib} KiB, plan to image`, buildMs, 'ms', large ? 1000 : null, 1));
    rows.push(figureRow('  check of it', checkMs, 'ms', large ? 1000 : null, 1));
    rows.push(
      plainRow(
        '  bytes a second, build and check',
        `${(bytes / buildMs / 1000).toFixed(2)}, ${(bytes / checkMs / 1000).toFixed(2)} MB/s`,
      ),
    );
  }
  return {
    heading: 'Plans on this machine',
    rows,
    notes: [`CPU time of all threads in a fresh process after the modules are loaded, best of ${rounds}`],
  };
}
