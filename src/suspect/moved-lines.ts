// A permutation of lines as a suspicion.
import { type Candidate, candidate } from './candidate.js';
import type { MapStep } from './line-map.js';
import { addressThrough, dataTable, type PermutationVerdict } from './permutation.js';
import { predictionOf, type ReadbackCase } from './readback-case.js';

/** Exchanges that bring bit i to place `to[i]`, in order. */
const swapsOf = (to: readonly number[]): MapStep[] => {
  const at = to.map((_, i) => i);
  const swaps: MapStep[] = [];
  to.forEach((target, i) => {
    const here = at.indexOf(i);
    if (here === target) return;
    swaps.push({ kind: 'swap', p: 1 << here, q: 1 << target });
    [at[here], at[target]] = [at[target]!, at[here]!];
  });
  return swaps;
};

/** The solved permutation as a candidate; its cost counts the exchanges it takes. */
export const permutationCandidate = (c: ReadbackCase, v: PermutationVerdict): Candidate => {
  const { permutation: p } = v;
  const wiring = { address: swapsOf(p.address), data: swapsOf(p.data) };
  return candidate(
    c,
    {
      kind: 'permutation',
      cause: { is: 'moved-lines', count: v.count, countIsExact: v.countIsExact, exchangeable: v.exchangeable },
      permutation: p,
      wiring,
      cost: wiring.address.length + wiring.data.length,
    },
    predictionOf(c, (a) => addressThrough(p, a), dataTable(p)),
  );
};
