// A suspicion and how it fits: what it blames and what it predicts.
import type { WiringFault } from '../chip/wiring-fault.js';
import type { Cause, ExplanationKind, Permutation } from './explanation.js';
import {
  type ByteAt,
  type Fit,
  failsProbes,
  fitOf,
  type Prediction,
  predictionBy,
  type ReadbackCase,
} from './readback-case.js';
import type { Wiring } from './wiring.js';

export interface Candidate {
  readonly kind: ExplanationKind;
  readonly cause: Cause;
  readonly faults: readonly WiringFault[];
  readonly wiring: Wiring | null;
  readonly permutation: Permutation | null;
  readonly cost: number;
  readonly fit: Fit;
}

export type Suspicion = Pick<Candidate, 'kind' | 'cause'> & Partial<Omit<Candidate, 'fit'>>;

export const candidate = (c: ReadbackCase, s: Suspicion, prediction: Prediction): Candidate => ({
  faults: [],
  wiring: null,
  permutation: null,
  cost: 1,
  ...s,
  fit: fitOf(c, prediction, s.cost),
});

/** The suspicion as a list of one, or none where it does not reproduce the readback; fails fast. */
export const ifExact = (c: ReadbackCase, s: Suspicion, byteAt: ByteAt): Candidate[] => {
  if (failsProbes(c, byteAt)) return [];
  const one = candidate(c, s, predictionBy(c, byteAt));
  return one.fit.exact ? [one] : [];
};

/** The cause that wires are as named, at these times. */
export const wires = (
  when: 'reading' | 'burning' | 'both',
  more: Partial<Extract<Cause, { is: 'wires' }>> = {},
): Cause => ({ is: 'wires', when, level: null, stoppedAt: null, blocksWritten: null, ...more });
