// A suspicion before it is put in words for the user: what it blames and what it predicts.
import type { WiringFault } from '../chip/wiring-fault.js';
import type { ExplanationKind, Permutation } from './explanation.js';
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
  readonly text: string;
  readonly faults: readonly WiringFault[];
  readonly wiring: Wiring | null;
  readonly permutation: Permutation | null;
  readonly cost: number;
  readonly fit: Fit;
  readonly evidence: readonly string[];
  /** Set where the suspicion itself knows what decides; else the wiring does. */
  readonly next: string | null;
}

export type Suspicion = Pick<Candidate, 'kind' | 'text'> & Partial<Omit<Candidate, 'fit'>>;

export const candidate = (c: ReadbackCase, s: Suspicion, prediction: Prediction): Candidate => ({
  faults: [],
  wiring: null,
  permutation: null,
  cost: 1,
  evidence: [],
  next: null,
  ...s,
  fit: fitOf(c, prediction, s.cost),
});

/** The suspicion as a list of one, or none where it does not reproduce the readback; fails fast. */
export const ifExact = (c: ReadbackCase, s: Suspicion, byteAt: ByteAt): Candidate[] => {
  if (failsProbes(c, byteAt)) return [];
  const one = candidate(c, s, predictionBy(c, byteAt));
  return one.fit.exact ? [one] : [];
};
