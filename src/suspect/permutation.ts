// Any permutation of address and data lines, solved from one readback; and every other permutation that fits as well.
import type { LineName } from '../chip/wiring-fault.js';
import { popcount } from './bit-planes.js';
import type { Permutation } from './explanation.js';
import {
  type Candidates,
  copyOf,
  firstCandidates,
  type LineEvidence,
  lineEvidence,
  lowest,
  narrow,
  only,
} from './permutation-candidates.js';
import type { ReadbackCase } from './readback-case.js';

export interface PermutationVerdict {
  readonly permutation: Permutation;
  /**
   * How many permutations fit. With undefined cells in the wanted image it is a lower bound, as it is where the search
   * was cut short.
   */
  readonly count: number;
  readonly countIsExact: boolean;
  /** Lines of the chip that may be exchanged with others of their group (in suitable combinations) without any byte changing. */
  readonly exchangeable: readonly (readonly LineName[])[];
  /** Some of the other permutations; all others follow from combining them when the count is exact. */
  readonly others: readonly Permutation[];
}

/** Most places at which one search may try a line: far above what real images take, low enough to end at once. */
const triesMax = 4000;
/** Addresses looked at after each settled line. */
const looksMax = 128;

interface Search {
  readonly c: ReadbackCase;
  readonly evidence: LineEvidence;
  tries: number;
}

/**
 * After the counts, the bytes: an address in which all unsettled lines have one level is known at both ends. Each such
 * pair of bytes narrows the data lines. False when they contradict.
 */
const lookAtKnown = ({ c }: Search, cand: Candidates): boolean => {
  const n = c.addressLines;
  const settled: number[] = [];
  let openReader = 2 ** n - 1;
  let openChip = openReader;
  for (let r = 0; r < n; r++) {
    const mask = cand.address[r]!;
    if (!only(mask)) continue;
    settled.push(r);
    openReader &= ~(1 << r);
    openChip &= ~mask;
  }
  const patterns = 2 ** settled.length;
  // An odd stride visits every pattern once when all are looked at, and a spread of them otherwise.
  const stride = patterns <= looksMax ? 1 : 2 * Math.floor(patterns / looksMax / 2) + 1;
  for (let look = 0, pattern = 0; look < Math.min(patterns, looksMax); look++, pattern += stride) {
    let reader = 0;
    let chip = 0;
    for (let s = 0; s < settled.length; s++)
      if ((pattern >> s) & 1) {
        reader |= 1 << settled[s]!;
        chip |= cand.address[settled[s]!]!;
      }
    if (!agree(c, cand, reader, chip) || !agree(c, cand, reader | openReader, chip | openChip)) return false;
  }
  return true;
};

const agree = (c: ReadbackCase, cand: Candidates, reader: number, chip: number): boolean => {
  if (c.defined[chip] !== 1) return true;
  const wanted = c.wanted[chip]!;
  const actual = c.actual[reader]!;
  if (popcount(wanted) !== popcount(actual)) return false;
  for (let j = 0; j < 8; j++) {
    cand.data[j]! &= (wanted >> j) & 1 ? actual : ~actual;
    if (cand.data[j] === 0) return false;
  }
  return true;
};

const permutationOf = (cand: Candidates): Permutation => ({
  address: Array.from(cand.address, lowest),
  data: Array.from(cand.data, lowest),
});

/** The chip's address for the reader's, through a permutation. */
export const addressThrough = (p: Permutation, address: number): number => {
  let chip = 0;
  for (let i = 0; i < p.address.length; i++) if ((address >> i) & 1) chip |= 1 << p.address[i]!;
  return chip;
};

export const dataTable = (p: Permutation): Uint8Array =>
  Uint8Array.from({ length: 256 }, (_, byte) => {
    let out = 0;
    for (let j = 0; j < 8; j++) if ((byte >> j) & 1) out |= 1 << p.data[j]!;
    return out;
  });

/** True when the permutation reproduces every byte that the wanted image defines. Counts through all addresses one changed line at a time. */
const reproduces = (c: ReadbackCase, p: Permutation): boolean => {
  const table = dataTable(p);
  let reader = 0;
  let chip = 0;
  for (let i = 0; i < c.cells; i++) {
    if (c.defined[chip] === 1 && table[c.wanted[chip]!] !== c.actual[reader]) return false;
    const line = 31 - Math.clz32((i + 1) & -(i + 1));
    reader ^= 1 << line;
    chip ^= 1 << p.address[line]!;
  }
  return true;
};

/** Narrows by counts and bytes, then tries the line with the fewest choices; its own place first, so that unneeded moves are not made. */
const solve = (s: Search, cand: Candidates): Permutation | null => {
  for (let before = -1, now = 0; before !== now; before = now, now = choicesLeft(cand))
    if (!narrow(cand, s.evidence) || !lookAtKnown(s, cand)) return null;
  const line = lineToTry(cand);
  if (line === null) {
    const p = permutationOf(cand);
    return reproduces(s.c, p) ? p : null;
  }
  for (const choice of choicesOf(cand[line.bus][line.index]!, line.index)) {
    if (++s.tries > triesMax) return null;
    const next = copyOf(cand);
    next[line.bus][line.index] = 1 << choice;
    const found = solve(s, next);
    if (found !== null) return found;
  }
  return null;
};

const choicesLeft = (cand: Candidates): number =>
  cand.address.reduce((sum, m) => sum + popcount(m), 0) + cand.data.reduce((sum, m) => sum + popcount(m), 0);

const choicesOf = (mask: number, own: number): number[] => {
  const list: number[] = (mask >> own) & 1 ? [own] : [];
  for (let rest = mask & ~(1 << own); rest !== 0; rest &= rest - 1) list.push(lowest(rest));
  return list;
};

const lineToTry = (cand: Candidates): { bus: 'address' | 'data'; index: number } | null => {
  for (const bus of ['address', 'data'] as const) {
    let best = -1;
    cand[bus].forEach((mask, i) => {
      if (!only(mask) && (best < 0 || popcount(mask) < popcount(cand[bus][best]!))) best = i;
    });
    if (best >= 0) return { bus, index: best };
  }
  return null;
};

/**
 * The permutation of address and data lines through which `wanted` reads as `actual`, or null when there is none (or, in
 * contrived images, none was found within the bound on tries).
 */
export const solvePermutation = (c: ReadbackCase): PermutationVerdict | null => {
  const evidence = lineEvidence(c);
  const start = firstCandidates(c);
  const permutation = solve({ c, evidence, tries: 0 }, copyOf(start));
  if (permutation === null) return null;
  return { permutation, ...otherSolutions(c, evidence, start, permutation) };
};

/**
 * Counts all solutions along a chain: with the lines before it held as found, how many places can each line take?
 * In a fully defined image the solutions form a coset of the group of its symmetries, so the product is their number.
 */
const otherSolutions = (
  c: ReadbackCase,
  evidence: LineEvidence,
  start: Candidates,
  found: Permutation,
): Omit<PermutationVerdict, 'permutation'> => {
  const held = copyOf(start);
  const others: Permutation[] = [];
  let count = 1;
  let complete = c.compared === c.cells;
  for (const bus of ['address', 'data'] as const)
    for (let i = 0; i < found[bus].length; i++) {
      if (!narrow(held, evidence)) break;
      let places = 1;
      for (const choice of choicesOf(held[bus][i]! & ~(1 << found[bus][i]!), i)) {
        const search: Search = { c, evidence, tries: 0 };
        const other = copyOf(held);
        other[bus][i] = 1 << choice;
        const p = solve(search, other);
        if (p !== null) {
          places++;
          others.push(p);
        } else if (search.tries > triesMax) complete = false;
      }
      count *= places;
      held[bus][i] = 1 << found[bus][i]!;
    }
  return { count, countIsExact: complete, exchangeable: exchangeableLines(found, others), others: others.slice(0, 20) };
};

/** Groups of the chip's lines that the other solutions put in each other's place. */
const exchangeableLines = (found: Permutation, others: readonly Permutation[]): LineName[][] => {
  const group = new Map<LineName, Set<LineName>>();
  const join = (one: LineName, other: LineName): void => {
    if (one === other) return;
    const joined = new Set([...(group.get(one) ?? [one]), ...(group.get(other) ?? [other])]);
    for (const line of joined) group.set(line, joined);
  };
  for (const p of others) {
    p.address.forEach((line, i) => {
      join(`A${found.address[i]!}`, `A${line}`);
    });
    // data[j] says where the chip's line j arrives: lines that arrive at the same place are the exchanged ones.
    p.data.forEach((at, j) => {
      join(`D${found.data.indexOf(at)}`, `D${j}`);
    });
  }
  return [...new Set(group.values())].map((set) => [...set].sort((a, b) => Number(a.slice(1)) - Number(b.slice(1))));
};
