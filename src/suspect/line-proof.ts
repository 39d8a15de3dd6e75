// What is proven of one line of the writer, and by which test: faults ruled out, faults left over, and the one that is there.
import { type LineName, linesOf, type WiringFault } from '../chip/wiring-fault.js';
import type { Permutation } from './explanation.js';
import { listWords } from './fault-words.js';
import { busOf, indexOf } from './line-map.js';

export interface Proof {
  readonly what: string;
  readonly by: readonly string[];
}

export interface LineProof {
  readonly line: LineName;
  /**
   * What is wrong with it: "crossed with A5", where every explanation says so, or "goes to A5", where lines changed places.
   * `oneOf`: it names several things, of which one is there.
   */
  readonly fault: (Proof & { readonly oneOf: boolean }) | null;
  /** "not stuck", "not crossed with A1", with the tests that show it. */
  readonly proven: readonly Proof[];
  /** Faults that no test rules out: "open", "crossed with A3 or A5". */
  readonly notProven: readonly string[];
}

/** One single fault held against all tests. */
export interface Trial {
  readonly fault: WiringFault;
  /** Tests that rule the fault out, at every level at which an open line may float, and beside whatever fault was found. */
  readonly ruledOutBy: readonly string[];
}

const kindWords = (fault: WiringFault): string => {
  if (fault.kind === 'stuck') return `stuck ${fault.level === 1 ? 'high' : 'low'}`;
  return fault.kind;
};

const partner = (fault: WiringFault, line: LineName): LineName | null =>
  linesOf(fault).find((other) => other !== line) ?? null;

/** "crossed with A1, A2 and A3" for each kind of fault on one line. */
const grouped = (faults: readonly WiringFault[], line: LineName): Map<string, LineName[]> => {
  const groups = new Map<string, LineName[]>();
  for (const fault of faults) {
    const kind = kindWords(fault);
    const other = partner(fault, line);
    const others = groups.get(kind) ?? [];
    if (other !== null && !others.includes(other)) others.push(other);
    groups.set(kind, others);
  }
  return groups;
};

/** `line` may be the partner of each of its bus of `busLines`; few that are left out are named in place of the many. */
const said = (kind: string, others: readonly LineName[], line: LineName, busLines: number): string => {
  if (others.length === 0) return kind;
  const bus = Array.from({ length: busLines }, (_, i): LineName => `${busOf(line)}${i}`);
  const left = bus.filter((other) => other !== line && !others.includes(other));
  if (left.length === 0) return `${kind} with any line`;
  return others.length > 2 * left.length
    ? `${kind} with any line but ${listWords(left)}`
    : `${kind} with ${listWords(others, 'or')}`;
};

const faultOf = ({ fault }: Trial): WiringFault => fault;

/** What the trials of single faults prove of one line of a bus of `busLines`. */
export const proofOf = (line: LineName, trials: readonly Trial[], busLines: number): LineProof => {
  const own = trials.filter(({ fault }) => linesOf(fault).includes(line));
  const ruledOut = own.filter((t) => t.ruledOutBy.length > 0);
  // A short counts as ruled out only when both levels that may win are.
  const open = own.filter((t) => t.ruledOutBy.length === 0);
  const openPairs = new Set(open.map(({ fault }) => `${fault.kind} ${partner(fault, line)}`));
  const certain = ruledOut.filter(
    ({ fault }) => partner(fault, line) === null || !openPairs.has(`${fault.kind} ${partner(fault, line)}`),
  );
  const proven = [...grouped(certain.map(faultOf), line)].map(([kind, others]) => ({
    what: `not ${said(kind, others, line, busLines)}`,
    by: [...new Set(certain.filter(({ fault }) => kindWords(fault) === kind).flatMap((t) => t.ruledOutBy))],
  }));
  return {
    line,
    fault: null,
    proven,
    notProven: [...grouped(open.map(faultOf), line)].map(([kind, others]) => said(kind, others, line, busLines)),
  };
};

/**
 * The line with the fault that is there, where every explanation touches this line, so that one of them is there; else null.
 * `left`: the faults left over; `unused`: for each smaller chip that explains as well, the lines that it does not use.
 */
export const blamed = (
  line: LineName,
  left: readonly WiringFault[],
  unused: readonly (readonly LineName[])[],
  by: readonly string[],
): LineProof | null => {
  const touched = [...left.map(linesOf), ...unused];
  if (touched.length === 0 || !touched.every((lines) => lines.includes(line))) return null;
  const groups = [...grouped(left, line)];
  const words = groups.map(([kind, others]) =>
    others.length === 0 ? kind : `${kind} with ${listWords(others, 'or')}`,
  );
  if (unused.length > 0) words.push('not used by a smaller chip');
  // Several lines without effect may be several faults as well.
  const others = new Set(unused.flatMap((lines) => (lines.length > 1 ? lines.filter((other) => other !== line) : [])));
  if (others.size > 0) words.push(`without effect like ${listWords([...others])}`);
  const oneOf = words.length > 1 || groups.some(([, others]) => others.length > 1);
  return { line, fault: { what: listWords(words, 'or'), by, oneOf }, proven: [], notProven: [] };
};

/** Where something is amiss and no single fault gives it, ruling single faults out one by one proves nothing of any line. */
export const unproven = (line: LineName): LineProof => ({ line, fault: null, proven: [], notProven: ['anything'] });

/** Where a line goes by the one permutation that fits. `mayBeOpen`: data lines of which no test says that they are not open. */
export const placed = (line: LineName, p: Permutation, by: readonly string[], mayBeOpen: number): LineProof => {
  const at = indexOf(line);
  const goesTo = busOf(line) === 'A' ? p.address[at]! : p.data.indexOf(at);
  const open = busOf(line) === 'D' && (mayBeOpen & (1 << at)) !== 0;
  return {
    line,
    fault: goesTo === at ? null : { what: `goes to ${line[0]}${goesTo} at the chip`, by, oneOf: false },
    proven: goesTo === at ? [{ what: 'goes to its own pin at the chip', by }] : [],
    notProven: open ? ['open'] : [],
  };
};
