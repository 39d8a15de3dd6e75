// What is proven of one line of the writer, and by which test: faults ruled out, faults left over, and the one that is there.
import { type LineName, linesOf, type WiringFault } from '../chip/wiring-fault.js';
import type { Permutation } from './explanation.js';
import { busOf, indexOf } from './line-map.js';

/** One kind of fault of a line, with every line that it may be shared with. */
export interface FaultGroup {
  readonly kind: WiringFault['kind'];
  readonly level: 0 | 1 | null;
  readonly others: readonly LineName[];
}

export interface LineProof {
  readonly line: LineName;
  /** What is wrong with it, where every explanation says so of this line, or where lines changed places. */
  readonly fault: LineFault | null;
  /** Faults that it does not have, with the tests that show it. */
  readonly proven: readonly { readonly not: FaultGroup; readonly by: readonly string[] }[];
  /** The tests that show that it goes to its own pin at the chip. */
  readonly ownPin: readonly string[] | null;
  /** Faults that no test rules out; null where nothing at all is ruled out. */
  readonly notProven: readonly FaultGroup[] | null;
}

export interface LineFault {
  /** One of these is there. */
  readonly groups: readonly FaultGroup[];
  /** Or a smaller chip does not use it; `alike`: other lines that are then without effect. */
  readonly isUnused: boolean;
  readonly alike: readonly LineName[];
  /** Where it arrives at the chip, where lines changed places. */
  readonly goesTo: LineName | null;
  readonly by: readonly string[];
  /** It names several things, of which one is there. */
  readonly oneOf: boolean;
}

/** One single fault held against all tests. */
export interface Trial {
  readonly fault: WiringFault;
  /** Tests that rule the fault out, at every level at which an open line may float, and beside whatever fault was found. */
  readonly ruledOutBy: readonly string[];
}

const partner = (fault: WiringFault, line: LineName): LineName | null =>
  linesOf(fault).find((other) => other !== line) ?? null;

const levelOf = (fault: WiringFault): 0 | 1 | null => (fault.kind === 'stuck' ? fault.level : null);

const isIn = ({ kind, level }: FaultGroup, fault: WiringFault): boolean =>
  kind === fault.kind && level === levelOf(fault);

/** The kinds of fault on one line, each with its other lines. */
const grouped = (faults: readonly WiringFault[], line: LineName): FaultGroup[] => {
  const groups: (FaultGroup & { readonly others: LineName[] })[] = [];
  for (const fault of faults) {
    let group = groups.find((g) => isIn(g, fault));
    if (group === undefined) {
      group = { kind: fault.kind, level: levelOf(fault), others: [] };
      groups.push(group);
    }
    const other = partner(fault, line);
    if (other !== null && !group.others.includes(other)) group.others.push(other);
  }
  return groups;
};

const faultOf = ({ fault }: Trial): WiringFault => fault;

/** What the trials of single faults prove of one line. */
export const proofOf = (line: LineName, trials: readonly Trial[]): LineProof => {
  const own = trials.filter(({ fault }) => linesOf(fault).includes(line));
  const ruledOut = own.filter((t) => t.ruledOutBy.length > 0);
  // A short counts as ruled out only when both levels that may win are.
  const open = own.filter((t) => t.ruledOutBy.length === 0);
  const openPairs = new Set(open.map(({ fault }) => `${fault.kind} ${partner(fault, line)}`));
  const certain = ruledOut.filter(
    ({ fault }) => partner(fault, line) === null || !openPairs.has(`${fault.kind} ${partner(fault, line)}`),
  );
  const proven = grouped(certain.map(faultOf), line).map((not) => ({
    not,
    by: [...new Set(certain.filter(({ fault }) => isIn(not, fault)).flatMap((t) => t.ruledOutBy))],
  }));
  return { line, fault: null, proven, ownPin: null, notProven: grouped(open.map(faultOf), line) };
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
  const groups = grouped(left, line);
  const isUnused = unused.length > 0;
  // Several lines without effect may be several faults as well.
  const alike = new Set(unused.flatMap((lines) => lines.filter((other) => other !== line)));
  const oneOf = groups.length + Number(isUnused) + alike.size > 1 || groups.some(({ others }) => others.length > 1);
  const fault = { groups, isUnused, alike: [...alike], goesTo: null, by, oneOf };
  return { line, fault, proven: [], ownPin: null, notProven: [] };
};

/** Where something is amiss and no single fault gives it, ruling single faults out one by one proves nothing of any line. */
export const unproven = (line: LineName): LineProof => ({
  line,
  fault: null,
  proven: [],
  ownPin: null,
  notProven: null,
});

/** Where a line goes by the one permutation that fits. `mayBeOpen`: data lines of which no test says that they are not open. */
export const placed = (line: LineName, p: Permutation, by: readonly string[], mayBeOpen: number): LineProof => {
  const at = indexOf(line);
  const goesTo = busOf(line) === 'A' ? p.address[at]! : p.data.indexOf(at);
  const isOpen = busOf(line) === 'D' && (mayBeOpen & (1 << at)) !== 0;
  const moved: LineFault = {
    groups: [],
    isUnused: false,
    alike: [],
    goesTo: `${busOf(line)}${goesTo}`,
    by,
    oneOf: false,
  };
  return {
    line,
    fault: goesTo === at ? null : moved,
    proven: [],
    ownPin: goesTo === at ? by : null,
    notProven: isOpen ? [{ kind: 'open', level: null, others: [] }] : [],
  };
};
