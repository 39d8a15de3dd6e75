// Every single fault held against the tests of the rig check: alone, and beside a fault that was found already.
import { sameFault, sharesLine, type WiringFault } from '../chip/wiring-fault.js';
import type { Trial } from './line-proof.js';
import { couldGive, type RigSuspicion, type RigTest, referenceTest, together } from './rig-model.js';

/** One trial a fault; an open line counts as ruled out when it is at each level that it may float at. */
const trialsWith = (
  suspicions: readonly RigSuspicion[],
  rulingOut: (s: RigSuspicion & { readonly fault: WiringFault }) => readonly string[],
): Trial[] => {
  const byFault = new Map<string, { fault: WiringFault; variants: (readonly string[])[] }>();
  for (const s of suspicions) {
    const { fault } = s;
    if (fault === null) continue;
    const key = JSON.stringify(fault);
    const entry = byFault.get(key) ?? { fault, variants: [] };
    entry.variants.push(rulingOut({ ...s, fault }));
    byFault.set(key, entry);
  }
  return [...byFault.values()].map(({ fault, variants }) => ({
    fault,
    ruledOutBy: variants.some((v) => v.length === 0) ? [] : [...new Set(variants.flat())],
  }));
};

/** Each fault as the only one. */
export const trialsOf = (suspicions: readonly RigSuspicion[], tests: readonly RigTest[]): Trial[] =>
  trialsWith(suspicions, (s) => tests.filter((t) => !couldGive(t, s)).map((t) => t.name));

/** More than these are not tried pair by pair. */
const foundMost = 4;

/**
 * Each fault beside each of those that were `found`: a test that a found fault has spoilt says of another line only what
 * both together could not give. The reference chip, whose whole readback a found fault has reproduced, judges them alone.
 * Of many found faults one is there, nobody knows which: then only tests that read as on sound wiring judge.
 * `smaller`: chips smaller than said that were found, behind which a fault is tried as beside another.
 */
export const trialsBeside = (
  found: readonly WiringFault[],
  smaller: readonly RigSuspicion[],
  suspicions: readonly RigSuspicion[],
  tests: readonly RigTest[],
): Trial[] => {
  if (found.length + smaller.length > foundMost)
    return trialsOf(
      suspicions,
      tests.filter((t) => couldGive(t, suspicions[0]!)),
    );
  const isFound = (fault: WiringFault): boolean => found.some((f) => sameFault(f, fault));
  const there = suspicions.filter((s) => s.fault !== null && isFound(s.fault) && tests.every((t) => couldGive(t, s)));
  return trialsWith(suspicions, (s) => {
    if (isFound(s.fault)) return [];
    const behind = smaller.map((chip) => together(s, chip));
    const both = there.flatMap((f) => {
      // On lines of their own the order makes no difference.
      return sharesLine(f.fault!, s.fault) ? [together(f, s), together(s, f)] : [together(f, s)];
    });
    return tests
      .filter((t) =>
        [...(t.name === referenceTest ? [s] : both), ...behind].every((candidate) => !couldGive(t, candidate)),
      )
      .map((t) => t.name);
  });
};
