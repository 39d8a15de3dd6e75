// Worlds tried one after the other, for the first that leaves what was read.
import { membersOf } from '../chip/chip-table.js';
import type { Part } from '../chip/part.js';
import { BurnPlay, type BurnWorld, SendPlan, type Wires } from './burn-world.js';
import { type Candidate, candidate, type Suspicion } from './candidate.js';
import { byteTable } from './line-map.js';
import type { Prediction, ReadbackCase } from './readback-case.js';
import { soundWiring, type Wiring } from './wiring.js';

export const usualPages = [64, 128, 32, 256, 16, 1] as const;

/** Page sizes to suppose: the part's, or without a part the usual ones. */
export const pageSizes = (part: Part | null): readonly number[] =>
  part === null
    ? usualPages
    : [...new Set([...membersOf(part), part].map(({ pageBytes }) => pageBytes.value))].sort((a, b) => b - a);

/** Cells that a writer sends in one go which knows of no pages. */
export const blindBlock = 64;

export const wiresOf = (wiring: Wiring): Wires => ({ address: wiring.address, table: byteTable(wiring.data) });
export const soundWires = wiresOf(soundWiring);

/** How far a burn came that leaves what was read; null where none of these does. */
export interface Played {
  readonly play: BurnPlay;
  readonly blocks: number;
}

/** Worlds in the order in which they are likely: the first of a burn to the end, else the first of one that stopped. */
export const firstFitting = (
  c: ReadbackCase,
  worlds: Iterable<BurnWorld>,
  mayStop: boolean,
  planOf: (world: BurnWorld) => SendPlan = (world) => new SendPlan(c, world),
): Played | null => {
  let stopped: Played | null = null;
  for (const world of worlds) {
    const play = new BurnPlay(c, world, planOf(world));
    // Beside a burn that stopped only one to the end counts.
    const blocks = play.fittingEnd(stopped === null && mayStop ? 1 : play.blocks);
    if (blocks === play.blocks) return { play, blocks };
    if (blocks !== null) stopped = { play, blocks };
  }
  return stopped;
};

export const exactly = (c: ReadbackCase, suspicion: Suspicion, prediction: Prediction): Candidate[] => {
  const one = candidate(c, suspicion, prediction);
  return one.fit.exact ? [one] : [];
};
