// The judgement on the writer's own wiring: what is proven of every line and by which test, what is not, and what is wrong.
import type { LineName, WiringFault } from '../chip/wiring-fault.js';
import { explainReadback } from './explain-readback.js';
import type { ReadbackVerdict } from './explanation.js';
import { countOf, faultWords, listWords, sentence } from './fault-words.js';
import { linesOf } from './line-map.js';
import { holdBothLevels } from './next-measurement.js';
import {
  couldGive,
  type RigObservations,
  type RigSuspicion,
  type RigTest,
  rigSuspicions,
  rigTests,
} from './rig-model.js';
import { addressLineNames, dataLineNames } from './wiring.js';

export type { PageWitness, RigObservations } from './rig-model.js';

export interface LineProof {
  readonly line: LineName;
  /** "not stuck", "not crossed with A1", with the tests that show it. */
  readonly proven: readonly { readonly what: string; readonly by: readonly string[] }[];
  readonly notProven: readonly string[];
}

export interface RigVerdict {
  /** Every test gave what sound wiring gives, and no register is missing. Says nothing of what the tests cannot see: that is `unseen`. */
  readonly sound: boolean;
  /** The tests that were performed. */
  readonly tests: readonly string[];
  /** Single faults that would give exactly these results; several where the tests cannot tell them apart. */
  readonly explanations: readonly { readonly fault: WiringFault; readonly text: string }[];
  /** What is wrong where it is not one wiring fault of the list: the register chain, or results that no single fault gives. */
  readonly remarks: readonly string[];
  readonly lines: readonly LineProof[];
  /** Single faults that would have given the very results of sound wiring in every test performed. */
  readonly unseen: readonly WiringFault[];
  /** The judgement on the reference chip's readback, permutations included; null without one. */
  readonly reference: ReadbackVerdict | null;
  readonly next: string;
}

interface Trial {
  readonly fault: WiringFault;
  /** Tests that rule the fault out, at every level at which an open line may float. */
  readonly ruledOutBy: readonly string[];
}

const trialsOf = (suspicions: readonly RigSuspicion[], tests: readonly RigTest[]): Trial[] => {
  const byFault = new Map<string, { fault: WiringFault; variants: string[][] }>();
  for (const s of suspicions) {
    if (s.fault === null) continue;
    const key = JSON.stringify(s.fault);
    const entry = byFault.get(key) ?? { fault: s.fault, variants: [] };
    entry.variants.push(tests.filter((t) => !couldGive(t, s)).map((t) => t.name));
    byFault.set(key, entry);
  }
  return [...byFault.values()].map(({ fault, variants }) => ({
    fault,
    ruledOutBy: variants.some((v) => v.length === 0) ? [] : [...new Set(variants.flat())],
  }));
};

const kindWords = (fault: WiringFault): string => {
  if (fault.kind === 'stuck') return `stuck ${fault.level === 1 ? 'high' : 'low'}`;
  return fault.kind;
};

const partner = (fault: WiringFault, line: LineName): LineName | null =>
  linesOf(fault).find((other) => other !== line) ?? null;

/** "crossed with A1, A2 and A3" for each kind of fault on one line. */
const grouped = (trials: readonly Trial[], line: LineName): Map<string, LineName[]> => {
  const groups = new Map<string, LineName[]>();
  for (const { fault } of trials) {
    const kind = kindWords(fault);
    const other = partner(fault, line);
    const others = groups.get(kind) ?? [];
    if (other !== null && !others.includes(other)) others.push(other);
    groups.set(kind, others);
  }
  return groups;
};

const said = (kind: string, others: readonly LineName[], all: number): string => {
  if (others.length === 0) return kind;
  return others.length === all ? `${kind} with any line` : `${kind} with ${listWords(others, 'or')}`;
};

const proofOf = (line: LineName, trials: readonly Trial[], busLines: number): LineProof => {
  const own = trials.filter(({ fault }) => linesOf(fault).includes(line));
  const ruledOut = own.filter((t) => t.ruledOutBy.length > 0);
  // A short counts as ruled out only when both levels that may win are.
  const open = own.filter((t) => t.ruledOutBy.length === 0);
  const openPairs = new Set(open.map(({ fault }) => `${fault.kind} ${partner(fault, line)}`));
  const certain = ruledOut.filter(
    ({ fault }) => partner(fault, line) === null || !openPairs.has(`${fault.kind} ${partner(fault, line)}`),
  );
  const proven = [...grouped(certain, line)].map(([kind, others]) => ({
    what: `not ${said(kind, others, busLines - 1)}`,
    by: [...new Set(certain.filter(({ fault }) => kindWords(fault) === kind).flatMap((t) => t.ruledOutBy))],
  }));
  return {
    line,
    proven,
    notProven: [...grouped(open, line)].map(([kind, others]) => said(kind, others, busLines - 1)),
  };
};

const registerRemarks = (o: RigObservations): string[] => {
  if (o.registers === undefined) return [];
  const needed = Math.ceil(o.part.addressLines / 8);
  if (o.registers === 0)
    return [
      'No register was counted: the chain return (last serial output through 1 k to PB4) is not fitted, or a register has no supply, clock or serial data.',
    ];
  if (o.registers < needed)
    return [
      `${countOf(o.registers, 'register')} ${o.registers === 1 ? 'was' : 'were'} counted, and ${o.part.name} needs ${needed} for its ${o.part.addressLines} address lines.`,
    ];
  return [];
};

const nextStep = (
  explanations: RigVerdict['explanations'],
  unseen: readonly WiringFault[],
  o: RigObservations,
): string => {
  const first = explanations[0]?.fault;
  if (first !== undefined) {
    const line = linesOf(first)[0]!;
    return line.startsWith('A')
      ? `${holdBothLevels(line, o.part.addressLines)}, and follow ${linesOf(first).join(' and ')} from the register to the socket with a meter.`
      : `Take the chip out, hold the data lines at 00 and at FF (\`romkiln hold\`), and follow ${linesOf(first).join(' and ')} from the microcontroller to the socket with a meter.`;
  }
  if (o.reference === undefined && unseen.length > 0)
    return 'What is not proven can be settled with a reference chip of known bytes, burned elsewhere, or line by line with `romkiln hold` and a meter.';
  if (unseen.length > 0) return 'What is not proven can be settled line by line with `romkiln hold` and a meter.';
  return 'Nothing is left to settle by single faults.';
};

/**
 * Judges the writer's wiring from whatever tests were performed; tests left out prove nothing. Every single fault is tried
 * against the results, so that "proven" means: with this fault one of the tests would have given something else.
 */
export const judgeRig = (o: RigObservations): RigVerdict => {
  const suspicions = rigSuspicions(o.part);
  const tests = rigTests(o);
  const soundWriter = suspicions[0]!;
  const amiss = tests.filter((t) => !couldGive(t, soundWriter));
  const trials = trialsOf(suspicions, tests);
  const fitting = trials.filter((t) => t.ruledOutBy.length === 0).map((t) => t.fault);
  const explanations = amiss.length === 0 ? [] : fitting.map((fault) => ({ fault, text: sentence(faultWords(fault)) }));
  const reference =
    o.reference === undefined ? null : explainReadback(o.reference.wanted, o.reference.readback, { part: o.part });
  const remarks = registerRemarks(o);
  if (amiss.length > 0 && explanations.length === 0)
    remarks.push(
      `None of these: no single wiring fault gives what was seen. Not as with sound wiring: ${listWords(amiss.map((t) => t.name))}.`,
    );
  const proofs = [
    ...addressLineNames(o.part.addressLines).map((line) => proofOf(line, trials, o.part.addressLines)),
    ...dataLineNames.map((line) => proofOf(line, trials, 8)),
  ];
  // Where something is amiss and no fault is left over, ruling out single faults one by one proves nothing of any line.
  const lines = amiss.length > 0 && explanations.length === 0 ? proofs.map(({ line }) => unproven(line)) : proofs;
  return {
    // A chain without its return cannot be counted, which is a remark and no fault.
    sound: amiss.length === 0 && (remarks.length === 0 || o.registers === 0),
    tests: tests.map((t) => t.name),
    explanations,
    remarks,
    lines,
    unseen: amiss.length === 0 ? fitting : [],
    reference,
    next: nextStep(explanations, amiss.length === 0 ? fitting : [], o),
  };
};

const unproven = (line: LineName): LineProof => ({ line, proven: [], notProven: ['anything'] });
