// Every single wiring fault and every pair of them, tried on a readback; a wrong one fails at one of the first probes.
import { type LineName, sharesLine, type WiringFault } from '../chip/wiring-fault.js';
import { type Candidate, candidate, wires } from './candidate.js';
import { byteTable, type MapStep, step, stepOf, steps } from './line-map.js';
import { contradicts, type Fit, predictionThrough, type ReadbackCase } from './readback-case.js';
import { addressLineNames, dataLineNames, netOf, singleFaultsOn, type Wiring, wiringOf } from './wiring.js';

interface Tried {
  readonly faults: readonly WiringFault[];
  readonly wiring: Wiring;
  readonly table: Uint8Array;
}

const tried = (faults: readonly WiringFault[]): Tried => {
  // Faults of one bus always have a map; only shorts between the buses have none, and those are not in the list.
  const wiring = wiringOf(faults)!;
  return { faults, wiring, table: byteTable(wiring.data) };
};

/** Two faults and one way in which they act together. */
export interface FaultPair {
  readonly faults: readonly [WiringFault, WiringFault];
  readonly wiring: Wiring;
}

/** All pairs of faults on one bus; where they share a line, in both orders and, if both are shorts, as one net. */
function* pairsOnOneBus(faults: readonly WiringFault[]): Generator<FaultPair> {
  for (let i = 0; i < faults.length; i++)
    for (let j = i + 1; j < faults.length; j++) {
      const one = faults[i]!;
      const other = faults[j]!;
      const wiring = wiringOf([one, other])!;
      if (!sharesLine(one, other)) {
        yield { faults: [one, other], wiring };
        continue;
      }
      const net = netOf(one, other);
      if (net !== null) yield { faults: [one, other], wiring: net };
      yield { faults: [one, other], wiring };
      yield { faults: [other, one], wiring: wiringOf([other, one])! };
    }
}

const addressFaults = (lines: number): WiringFault[] => singleFaultsOn(addressLineNames(lines));

/** Every pair of single faults. */
export function* faultPairs(addressLines: number): Generator<FaultPair> {
  const address = addressFaults(addressLines);
  const data = singleFaultsOn(dataLineNames);
  yield* pairsOnOneBus(address);
  for (const one of address) for (const other of data) yield { faults: [one, other], wiring: wiringOf([one, other])! };
  yield* pairsOnOneBus(data);
}

const asCandidate = (c: ReadbackCase, t: Tried): Candidate =>
  candidate(
    c,
    {
      kind: t.faults.length === 1 ? t.faults[0]!.kind : 'two-faults',
      cause: wires('reading'),
      faults: t.faults,
      wiring: t.wiring,
      cost: t.faults.length,
    },
    predictionThrough(c, t.wiring),
  );

/** What two maps must agree on to be the same: all faults join at most four lines, so few inputs tell them apart. */
const fingerprint = (wiring: Wiring, addressLines: number): string => {
  const top = 2 ** addressLines - 1;
  const out: number[] = [];
  for (let i = -1; i < addressLines; i++)
    for (let j = i; j < addressLines; j++) {
      const low = (i < 0 ? 0 : 1 << i) | (j < 0 ? 0 : 1 << j);
      out.push(steps(wiring.address, low), steps(wiring.address, top ^ low));
    }
  return `${out.join()};${byteTable(wiring.data).join()}`;
};

/**
 * Single faults that nothing contradicts: those that reproduce the readback, and those that only say nothing of it, since
 * they would read cells that the image does not define. A stuck line is said to be possibly open as well, by its twin.
 */
export const singleFaultCandidates = (c: ReadbackCase): Candidate[] => {
  const fitting: Candidate[] = [];
  const faults = [...addressFaults(c.addressLines), ...singleFaultsOn(dataLineNames)];
  for (const fault of faults) {
    const t = tried([fault]);
    if (contradicts(c, t.wiring.address, t.table)) continue;
    const found = asCandidate(c, t);
    if (found.fit.contradicted.length > 0) continue;
    fitting.push(found);
    if (fault.kind === 'stuck') fitting.push(openTwin(found, fault.line, fault.level));
  }
  return fitting;
};

/** An open line that happens to sit at one level cannot be told from a stuck one by reading. */
const openTwin = (stuck: Candidate, line: LineName, level: 0 | 1): Candidate => ({
  ...stuck,
  kind: 'open',
  faults: [{ kind: 'open', line }],
  cause: wires('reading', { level }),
});

/** A single fault in the form in which pairs of them are tried quickly. */
interface Half {
  readonly fault: WiringFault;
  readonly step: MapStep;
  readonly lines: number;
  readonly table: Uint8Array;
}

const halves = (faults: readonly WiringFault[]): Half[] =>
  faults.map((fault) => {
    const s = stepOf(fault, () => 1)!;
    return { fault, step: s, lines: s.p | (s.kind === 'swap' ? s.q : 0), table: byteTable([s]) };
  });

/**
 * True when a probe contradicts two address steps and two byte tables, or none is told by them: all that differs, and all that
 * the image does not define, would read undefined cells. Makes nothing, since it runs for every pair.
 */
const pairFails = (
  c: ReadbackCase,
  first: MapStep | null,
  second: MapStep | null,
  near: Uint8Array,
  far: Uint8Array,
): boolean => {
  const { wanted, defined, actual, probes } = c;
  let tells = false;
  for (let i = 0; i < probes.length; i++) {
    const a = probes[i]!;
    let from = a;
    if (first !== null) from = step(first, from);
    if (second !== null) from = step(second, from);
    if (defined[from] !== 1) continue;
    if (near[far[wanted[from]!]!] !== actual[a]) return true;
    if (defined[a] !== 1 || wanted[a] !== actual[a]) tells = true;
  }
  return !tells;
};

/** Every pair of single faults that passes the probes. */
function* pairsThatPass(c: ReadbackCase): Generator<FaultPair> {
  const address = halves(addressFaults(c.addressLines));
  const data = halves(singleFaultsOn(dataLineNames));
  const pair = (one: Half, other: Half): FaultPair => {
    const faults = [one.fault, other.fault] as const;
    return { faults, wiring: wiringOf(faults)! };
  };
  const passes = (one: Half, other: Half, onAddress: boolean): boolean =>
    onAddress
      ? !pairFails(c, one.step, other.step, straight, straight)
      : !pairFails(c, null, null, one.table, other.table);
  for (const list of [address, data]) {
    const onAddress = list === address;
    for (let i = 0; i < list.length; i++)
      for (let j = i + 1; j < list.length; j++) {
        const one = list[i]!;
        const other = list[j]!;
        if (passes(one, other, onAddress)) yield pair(one, other);
        if ((one.lines & other.lines) === 0) continue;
        if (passes(other, one, onAddress)) yield pair(other, one);
        const net = netOf(one.fault, other.fault);
        if (net !== null) yield { faults: [one.fault, other.fault], wiring: net };
      }
  }
  for (const one of address)
    for (const other of data) if (!pairFails(c, one.step, null, straight, other.table)) yield pair(one, other);
}

/**
 * Pairs that reproduce the readback by an account of fewer than `bits`, one for each different map; at most `limit` of them,
 * and how many more there are.
 */
export const pairCandidates = (c: ReadbackCase, limit: number, bits: number): { found: Candidate[]; more: number } => {
  const seen = new Set<string>();
  const found: Candidate[] = [];
  let more = 0;
  for (const { faults, wiring } of pairsThatPass(c)) {
    const table = byteTable(wiring.data);
    if (contradicts(c, wiring.address, table)) continue;
    const print = fingerprint(wiring, c.addressLines);
    if (seen.has(print)) continue;
    seen.add(print);
    const one = asCandidate(c, { faults, wiring, table });
    if (!one.fit.exact || one.fit.bits >= bits) continue;
    if (found.length < limit) found.push(one);
    else more++;
  }
  return { found, more };
};

const straight = byteTable([]);

const leftBy = (fit: Fit): number => fit.contradicted.length + fit.silent.length;

/** The single faults that come nearest without reproducing the readback: at most one wrong address for five explained. */
export const nearFaults = (c: ReadbackCase, limit: number): Candidate[] => {
  const scored: { fault: WiringFault; hits: number }[] = [];
  for (const fault of [...addressFaults(c.addressLines), ...singleFaultsOn(dataLineNames)]) {
    const t = tried([fault]);
    let hits = 0;
    for (const a of c.probes) {
      const from = steps(t.wiring.address, a);
      if (c.defined[from] === 1 && t.table[c.wanted[from]!] === c.actual[a]) hits++;
    }
    scored.push({ fault, hits });
  }
  return scored
    .sort((a, b) => b.hits - a.hits)
    .slice(0, 4 * limit)
    .map(({ fault }) => asCandidate(c, tried([fault])))
    .filter(({ fit }) => fit.tells && fit.explains > 0 && leftBy(fit) * 5 <= fit.explains)
    .sort((a, b) => leftBy(a.fit) - leftBy(b.fit))
    .slice(0, limit);
};
