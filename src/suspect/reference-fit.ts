// How a suspicion about the writer fits a reference chip that was read through it.
import { byteTable, steps } from './line-map.js';
import { fitOf, type Prediction, predictionOf, type ReadbackCase } from './readback-case.js';
import type { RigSuspicion } from './rig-model.js';

const straight = byteTable([]);

/** The byte of every address behind this suspicion; -1 where the image does not say enough to foretell one. */
export const referencePrediction = (c: ReadbackCase, { address, data, floating }: RigSuspicion): Prediction =>
  // What an open data line reads is not foretold at all, so that no byte is impossible behind it.
  predictionOf(c, (a) => steps(address, a), floating === 0 ? data : undefined);

/**
 * True when the reference chip alone shows the suspicion: it foretells the bytes that differ. One that only says nothing of
 * them does not. An open data line may read one level throughout, or any.
 */
export const isShown = (c: ReadbackCase, s: RigSuspicion): boolean => {
  if (fitOf(c, referencePrediction(c, s), 1, 0xff & ~s.floating).exact) return true;
  if (s.floating === 0) return false;
  const held = [(byte: number) => byte | s.floating, (byte: number) => byte & ~s.floating];
  const own = (address: number): number => address;
  return held.some((level) => fitOf(c, predictionOf(c, own, straight.map(level))).exact);
};
