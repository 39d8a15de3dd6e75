// A permutation of lines as a suspicion: said line by line, with what else fits.
import { countOf } from '../ground/quantity.js';
import { type Candidate, candidate } from './candidate.js';
import type { Permutation } from './explanation.js';
import { listWords } from './fault-words.js';
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

const moved = (to: readonly number[], letter: string): string[] =>
  to.flatMap((target, i) => (target === i ? [] : [`${letter}${i} to ${letter}${target}`]));

const isReversed = (to: readonly number[]): boolean => to.every((target, i) => target === to.length - 1 - i);

const wordsOf = (p: Permutation): string => {
  const address = isReversed(p.address) ? ['all address lines in reverse order'] : moved(p.address, 'A');
  const data = isReversed(p.data) ? ['all data lines in reverse order'] : moved(p.data, 'D');
  const words = [
    address.length > 0 ? `from reader to chip ${address.join(', ')}` : '',
    data.length > 0 ? `from chip to reader ${data.join(', ')}` : '',
  ].filter((part) => part !== '');
  return `Lines have changed places: ${words.join('; ')}.`;
};

const ambiguityWords = (v: PermutationVerdict): string => {
  if (v.count === 1 && v.countIsExact)
    return 'No other permutation of the 8 data lines and the address lines reproduces the readback.';
  const count = `${v.countIsExact ? '' : 'At least '}${countOf(v.count, 'permutation')} ${v.count === 1 ? 'fits' : 'fit'}`;
  if (v.exchangeable.length === 0) return `${count}: the undefined cells leave room for others.`;
  const groups = v.exchangeable.map((group) => listWords(group));
  return `${count} equally well: this image does not tell apart ${groups.join('; nor ')}.`;
};

/** The solved permutation as a candidate; its cost counts the exchanges it takes. */
export const permutationCandidate = (c: ReadbackCase, v: PermutationVerdict): Candidate => {
  const { permutation: p } = v;
  const wiring = { address: swapsOf(p.address), data: swapsOf(p.data) };
  const [first] = moved(p.address, 'A').concat(moved(p.data, 'D'));
  return candidate(
    c,
    {
      kind: 'permutation',
      text: wordsOf(p),
      permutation: p,
      wiring,
      cost: wiring.address.length + wiring.data.length,
      evidence: [ambiguityWords(v)],
      next: `Follow ${first?.replace(' to ', ' at the reader to ') ?? 'the lines'} at the other end with a meter, or burn an image with the corrected pin lists.`,
    },
    predictionOf(c, (a) => addressThrough(p, a), dataTable(p)),
  );
};
