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
  /** Text or object to plan, the first time in its process, before anything is compiled. */
  readonly readMs: number;
  /** Plan to images, the first time. */
  readonly buildMs: number;
  /** Both, the second time. */
  readonly againMs: number;
  readonly checkMs: number;
  readonly bytes: number;
}

function measure(read: () => Plan): Measured {
  let plan: Plan | null = null;
  let bytes = 0;
  const readMs = cpuMsOf(() => {
    plan = read();
  });
  const buildMs = cpuMsOf(() => {
    bytes = buildPlan(plan!).reduce((sum, rom) => sum + rom.image.bytes.length, 0);
  });
  const againMs = cpuMsOf(() => void buildPlan(read()));
  const checkMs = cpuMsOf(() => void checkPlan(read()));
  return { readMs, buildMs, againMs, checkMs, bytes };
}

export async function main([what]: readonly string[]): Promise<void> {
  const size = sizes.find((s) => s.chip === what);
  const tally = readFileSync(new URL('../images/skerry-tally.yaml', import.meta.url), 'utf8');
  const read = size ? () => functionPlan(size) : () => readPlan(tally, 'skerry-tally.yaml');
  process.stdout.write(JSON.stringify(measure(read)));
}

/** The best of several: whatever else the machine does only ever adds. */
function freshly(what: string): Measured {
  const all = Array.from({ length: rounds }, () => inFreshProcess<Measured>('plan-speed', [what]));
  const best = (figure: (m: Measured) => number): number => Math.min(...all.map(figure));
  return {
    readMs: best((m) => m.readMs),
    buildMs: best((m) => m.buildMs),
    againMs: best((m) => m.againMs),
    checkMs: best((m) => m.checkMs),
    bytes: all[0]!.bytes,
  };
}

const rateText = (bytes: number, ms: number): string => `${(bytes / ms / 1000).toFixed(2)} MB/s`;

export function planSection(): Section {
  const store = freshly('tally');
  const parts = `${store.readMs.toFixed(1)} ms reading the text, ${store.buildMs.toFixed(1)} ms making the images`;
  const rows: Row[] = [
    figureRow('control store 3 x 8 KiB, plan to images', store.readMs + store.buildMs, 'ms', 50, 1),
    plainRow('  of it', `${parts}; both again in the same process: ${store.againMs.toFixed(1)} ms`),
    figureRow('  check of it, all flag combinations', store.checkMs, 'ms', null, 1),
  ];
  for (const size of sizes) {
    const { readMs, buildMs, checkMs, bytes } = freshly(size.chip);
    const most = size.chip === 'AT28C040' ? 1000 : null;
    const wholeMs = readMs + buildMs;
    rows.push(figureRow(`function plan of ${bytes / 1024} KiB, plan to image`, wholeMs, 'ms', most, 1));
    rows.push(figureRow('  check of it', checkMs, 'ms', most, 1));
    rows.push(plainRow('  build and check', `${rateText(bytes, wholeMs)}, ${rateText(bytes, checkMs)}`));
  }
  return {
    heading: 'Plans on this machine',
    rows,
    notes: [`CPU time of all threads in a fresh process after the modules are loaded, best of ${rounds}`],
  };
}
