// Sweeps: everything that can happen at one place of a small burn, at every place. Judged like the runs of seeds.
import { findPart } from '../../src/chip/chip-table.js';
import { seededRandom } from '../../src/ground/random.js';
import type { Image } from '../../src/image/image.js';
import { writeImage } from '../../src/image/write-image.js';
import type { Scenario } from './scenario.js';
import { type MakeBench, play, sizeOf } from './seed-run.js';
import { type RunSize, spellTrouble, type Trouble, type Way } from './trouble.js';

export type SweepName = 'pulled' | 'flipped' | 'cut' | 'lost' | 'reset' | 'power';

export interface Case {
  readonly sweep: SweepName;
  readonly scenario: Scenario;
  readonly trouble: Trouble;
  /** The burn itself must come through it, not only the next one. */
  readonly heals: boolean;
}

export const sweepTitles: Readonly<Record<SweepName, string>> = {
  pulled: 'the cable pulled after each byte, then burned again',
  flipped: 'each bit of each line flipped',
  cut: 'each line cut in two at each place, the rest late',
  lost: 'each byte of each line lost',
  reset: 'the writer reset after each line',
  power: 'the power lost in each write cycle',
};

/** A burn of a few pages, or of a few cells where the chip has no page mode, with a hole in the image. */
function smallBurn(chip: string, from: number, count: number): Scenario {
  const part = findPart(chip);
  const random = seededRandom(count);
  const bytes = new Uint8Array(part.cells).fill(0xff);
  bytes.set(random.bytes(count), from);
  const defined = new Uint8Array(part.cells).fill(1, from, from + count).fill(0, from + 5, from + 9);
  const image: Image = { name: 'image', bytes, defined };
  const file = { name: 'image.hex', bytes: writeImage(image, 'hex') };
  // Greeting, choice, sums, reading, writing and verifying are all there; trying the fast rates is left to the seeds.
  const argv = ['burn', file.name, '--chip', chip, '--port', 'bench', '--rate', '115200'];
  const step = {
    command: 'burn',
    argv,
    from: 0,
    to: part.cells - 1,
    json: false,
    dryRun: false,
    discards: false,
  } as const;
  return {
    seed: 1,
    said: part,
    seated: part,
    cycleUs: part.cycleMaxUs.value,
    contents: random.bytes(part.cells),
    image,
    file,
    steps: [step],
    answerDelayMs: 0,
    resetsOnOpen: true,
    chainReturn: true,
  };
}

export const smallBurns = (): readonly Scenario[] => [smallBurn('M28C16A', 0x30, 70), smallBurn('AT28C16E', 0x7a, 14)];

const ways: readonly Way[] = ['to-writer', 'to-host'];

function casesOf(scenario: Scenario, size: RunSize): Case[] {
  const cases: Case[] = [];
  const add = (sweep: SweepName, mishap: Extract<Trouble, { at: 'line' }>['mishap']): void => {
    const trouble: Trouble = { at: 'line', kind: mishap.kind, mishap };
    cases.push({ sweep, scenario, trouble, heals: sweep !== 'pulled' });
  };
  for (const way of ways)
    for (let at = 0; at < (way === 'to-writer' ? size.bytesToWriter : size.bytesToHost); at++) {
      add('pulled', { kind: 'unplugged', way, at });
      add('cut', { kind: 'late', way, at, ms: 40 });
      add('lost', { kind: 'lost', way, at, count: 1 });
      for (let bit = 0; bit < 8; bit++) add('flipped', { kind: 'flipped', way, at, bit });
    }
  for (let line = 1; line <= size.lines; line++) add('reset', { kind: 'resets', line });
  for (let cycle = 1; cycle <= size.cycles; cycle++) add('power', { kind: 'browns-out', cycle });
  return cases;
}

/** Every case of every sweep, in a fixed order. */
export async function allCases(): Promise<Case[]> {
  const cases: Case[] = [];
  for (const scenario of smallBurns()) cases.push(...casesOf(scenario, await sizeOf(scenario)));
  return cases;
}

/** What is wrong with how one case ended; null when nothing is. */
export async function caseFailure(one: Case, makeBench: MakeBench): Promise<string | null> {
  const run = await play(one.scenario, [one.trouble], makeBench);
  const [burned, again] = run.ends;
  const complaints = run.broken.map((b) => `promise ${b.promise}: ${b.text}`);
  if (one.heals && burned?.end.exit !== 0) complaints.push(`the burn ended with ${burned?.end.exit}`);
  if (again?.end.exit !== 0) complaints.push(`burned again it ended with ${again?.end.exit}`);
  const { bytes, defined } = one.scenario.image;
  const wrong = again?.end.after.findIndex((byte, cell) => defined[cell] === 1 && byte !== bytes[cell]) ?? 0;
  if (wrong >= 0) complaints.push(`in the end cell ${wrong} is wrong`);
  return complaints.length === 0
    ? null
    : `${one.scenario.said.name}, ${spellTrouble(one.trouble)}: ${complaints.join('; ')}`;
}
