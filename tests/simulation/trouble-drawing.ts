// Drawing what goes wrong, swarm fashion: most kinds are switched off in one run, and the others have wildly different weights.
import { type Random, seededRandom } from '../../src/ground/random.js';
import { drawMishap } from '../mock/mishap.js';
import type { Scenario } from './scenario.js';
import { damageKinds, type MishapKind, type RunSize, type Trouble, type WiringFault } from './trouble.js';

/** Another stream of numbers than the scenario's, so that each can change without the other. */
const troubleSalt = 0x5eed7;

const chipKinds = ['absent', 'never-ready', 'slow', 'protected', 'weak', 'dead', 'worn', 'smaller'] as const;
const lineKinds: readonly MishapKind[] = [
  ...(['lost', 'flipped', 'doubled', 'late', 'noise', 'unplugged'] as const),
  ...(['repeated', 'resets', 'hangs', 'slow', 'browns-out'] as const),
];
const rareKinds = [
  ...(['interrupted', 'killed', 'killed', 'unanswered', 'disk-full', 'damaged-records'] as const),
  ...(['older', 'lacks', 'unsteady', 'miswired', 'miswired'] as const),
];
const kinds = [
  ...chipKinds.map((kind) => ({ at: 'chip' as const, kind })),
  ...lineKinds.map((kind) => ({ at: 'line' as const, kind })),
  ...rareKinds.map((kind) => ({ at: 'rare' as const, kind })),
];

/** About how often one kind is switched off for a whole run, and how far the weights of the others lie apart. */
const offChance = 0.7;
const weightSteps = 6;

/** One wrong wire, or a wrong pair; lines that another fault has taken are left alone. */
function drawWiringFault(random: Random, addressLines: number, taken: Set<string>): WiringFault | null {
  const letter = random.pick(['A', 'D'] as const);
  const count = letter === 'A' ? addressLines : 8;
  const [a, b] = [random.below(count), random.below(count)];
  const [line, other] = [`${letter}${Math.min(a, b)}`, `${letter}${Math.max(a, b)}`] as const;
  if (a === b || taken.has(line) || taken.has(other)) return null;
  taken.add(line).add(other);
  switch (random.below(5)) {
    case 0:
      return { kind: 'open', line };
    case 1:
      return { kind: 'stuck', line, level: random.pick([0, 1]) };
    case 2:
      return { kind: 'inverted', line };
    case 3:
      return { kind: 'crossed', lines: [line, other] };
    default:
      return { kind: 'shorted', lines: [line, other], wins: random.pick(['low', 'high']) };
  }
}

/** A cell that the run is likely to touch. */
function drawCell(random: Random, { image, seated }: Scenario): number {
  const from = image.defined.indexOf(1);
  const to = image.defined.lastIndexOf(1);
  const cell = random.chance(0.7) ? from + random.below(to - from + 1) : random.below(seated.cells);
  return cell & (seated.cells - 1);
}

function drawChipTrouble(
  random: Random,
  kind: (typeof chipKinds)[number] | 'unsteady',
  scenario: Scenario,
): Trouble | null {
  const address = drawCell(random, scenario);
  const bit = random.below(8);
  switch (kind) {
    case 'weak':
      return { at: 'chip', kind, address, bit, level: random.pick([0, 1]) };
    case 'unsteady':
      return { at: 'chip', kind, address, bit };
    case 'dead':
    case 'worn':
      return { at: 'chip', kind, address };
    case 'smaller':
      return { at: 'chip', kind, cells: scenario.seated.cells >> (1 + random.below(3)) };
    case 'protected':
      return scenario.seated.protection.value ? { at: 'chip', kind } : null;
    default:
      return { at: 'chip', kind };
  }
}

/** Everything that goes wrong in the run of this scenario. `size` is about how much happens when nothing goes wrong. */
export function drawTroubles(scenario: Scenario, size: RunSize): Trouble[] {
  const random = seededRandom(scenario.seed ^ troubleSalt);
  const on = kinds.filter(() => !random.chance(offChance));
  const weighted = on.flatMap((kind) => new Array<(typeof kinds)[number]>(2 ** random.below(weightSteps)).fill(kind));
  if (weighted.length === 0) return [];
  const count = random.chance(0.1) ? 0 : 1 + random.below(random.chance(0.8) ? 4 : 14);
  const troubles: Trouble[] = [];
  const taken = new Set<string>();
  const once = new Set<string>();
  for (let i = 0; i < count; i++) {
    const { at, kind } = random.pick(weighted);
    let drawn: Trouble | null;
    if (at === 'line') drawn = { at, kind, mishap: drawMishap(random, kind, size) };
    else if (at === 'chip') drawn = drawChipTrouble(random, kind, scenario);
    else if (kind === 'unsteady') drawn = drawChipTrouble(random, kind, scenario);
    else if (kind === 'miswired') {
      const fault = drawWiringFault(random, scenario.said.addressLines, taken);
      drawn = fault && { at: 'wires', kind, fault };
    } else if (kind === 'older') drawn = { at: 'writer', kind };
    else if (kind === 'lacks') drawn = { at: 'writer', kind, word: random.pick(['sum', 'presence', 'registers']) };
    else if (kind === 'unanswered') drawn = { at: 'host', kind, how: random.pick(['interrupt', 'end']) };
    else if (kind === 'damaged-records') drawn = { at: 'host', kind, how: random.pick(damageKinds) };
    else drawn = { at: 'host', kind, line: 1 + random.below(size.lines) };
    if (!drawn || (drawn.at !== 'line' && drawn.at !== 'wires' && once.has(kind))) continue;
    once.add(kind);
    troubles.push(drawn);
  }
  return troubles;
}
