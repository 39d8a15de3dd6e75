// What each test of the rig check would give if one wire of the writer were faulty, so that results can be judged by comparison.
import type { Part } from '../chip/part.js';
import type { LineName, WiringFault } from '../chip/wiring-fault.js';
import type { Image } from '../image/image.js';
import { addressBusTest, arriving, type BusStep, dataBusTest, protectionCodes, sameLoads } from './bus-tests.js';
import { byteTable, indexOf, type MapStep, steps } from './line-map.js';
import { addressLineNames, dataLineNames, singleFaults, wiringOf } from './wiring.js';

/** The results of one test as numbers; -1 where nothing can be foretold. */
type Results = readonly number[];

/** One suspicion about the writer's wiring. Data is the same map in both directions for a single fault. */
export interface RigSuspicion {
  readonly fault: WiringFault | null;
  readonly address: readonly MapStep[];
  readonly data: Uint8Array;
  /** Data lines whose level cannot be foretold when read: open ones keep whatever charge they had. */
  readonly floating: number;
}

const openFaults = (lines: readonly LineName[]): WiringFault[] => lines.map((line) => ({ kind: 'open', line }));

/** A sound writer first, then every single fault; an open address line once for each level that it may float at. */
export const rigSuspicions = (part: Part): RigSuspicion[] => {
  const suspicion = (fault: WiringFault, level: 0 | 1): RigSuspicion => {
    const { address, data } = wiringOf([fault], () => level)!;
    const floating = fault.kind === 'open' && fault.line.startsWith('D') ? 1 << indexOf(fault.line) : 0;
    return { fault, address, data: byteTable(data), floating };
  };
  return [
    { fault: null, address: [], data: byteTable([]), floating: 0 },
    ...singleFaults(part.addressLines).map((f) => suspicion(f, 1)),
    ...openFaults(addressLineNames(part.addressLines)).flatMap((f) => [suspicion(f, 0), suspicion(f, 1)]),
    ...openFaults(dataLineNames).map((f) => suspicion(f, 1)),
  ];
};

/** The bytes of all reads of a test behind one suspicion; a cell that was never written is not known (-1). */
const busResults = (test: readonly BusStep[], s: RigSuspicion): number[] => {
  const cells = new Map<number, number>();
  const results: number[] = [];
  for (const step of test) {
    const cell = steps(s.address, step.address);
    if (step.kind === 'write') cells.set(cell, s.data[step.byte]!);
    else results.push(cells.has(cell) ? s.data[cells.get(cell)!]! : -1);
  }
  return results;
};

const stuckMask = (fault: WiringFault | null): { mask: number; levels: number } => {
  if (fault?.kind !== 'stuck' || !fault.line.startsWith('D')) return { mask: 0, levels: 0 };
  const mask = 1 << indexOf(fault.line);
  return { mask, levels: fault.level === 1 ? mask : 0 };
};

export interface PageWitness {
  /** First address of the page. */
  readonly address: number;
  readonly wanted: Uint8Array;
  readonly before: Uint8Array;
  readonly actual: Uint8Array;
}

/** A whole page loaded in ascending order through the fault; the chip takes the page named by the last load, or by the first. */
const pageResults = ({ address: base, wanted, before }: PageWitness, page: number, s: RigSuspicion): Results[] =>
  (['last', 'first'] as const).map((kept) => {
    const arrived = Array.from(wanted, (byte, o) => ({ cell: steps(s.address, base + o), byte: s.data[byte]! }));
    const named = arrived[kept === 'last' ? arrived.length - 1 : 0]!.cell & ~(page - 1);
    const written = new Map(arrived.map(({ cell, byte }) => [named | (cell & (page - 1)), byte]));
    return Array.from(before, (old, o) => {
      const byte = written.get(steps(s.address, base + o));
      return byte === undefined ? old : s.data[byte]!;
    });
  });

/** One test that was performed: what it gave, and what each suspicion would have given (any of several). */
export interface RigTest {
  readonly name: string;
  readonly actual: Results;
  foretold(s: RigSuspicion): readonly Results[];
  /** Results are bytes of the data lines, in which a floating line can be anything. */
  readonly bytes: boolean;
}

export interface RigObservations {
  readonly part: Part;
  /** Registers counted through the chain return; 0 where no return was seen. */
  readonly registers?: number;
  /** Without a chip: the data lines as read while pulled up, and the mask of those that followed the charge. */
  readonly noChip?: { readonly pulled?: number; readonly followed?: number };
  /** With a chip seated: the mask of data lines that followed the charge. */
  readonly followed?: number;
  /** The bytes of all reads of `dataBusTest()` in their order. */
  readonly dataBus?: readonly number[];
  /** The bytes of all reads of `addressBusTest(part.addressLines)` in their order. */
  readonly addressBus?: readonly number[];
  /** A whole page of a page-mode part, every cell changed (`pageWitnessBytes`). */
  readonly pageWitness?: PageWitness;
  /** A write tried after the codes that protect, and another after the codes that unprotect. */
  readonly protection?: { readonly refusedWhenOn: boolean; readonly tookWhenOff: boolean };
  /** A chip whose bytes are known, burned elsewhere. */
  readonly reference?: { readonly wanted: Image; readonly readback: Uint8Array };
}

const bit = (value: boolean): number => (value ? 1 : 0);

const protectionResults = (part: Part, s: RigSuspicion): Results => {
  const { on, off } = protectionCodes(part);
  const isOn = sameLoads(arriving(on, s.address, s.data), on);
  const isOff = !isOn || sameLoads(arriving(off, s.address, s.data), off);
  return [bit(isOn), bit(isOff)];
};

const referenceResults = ({ bytes, defined }: Image, cells: number, s: RigSuspicion): Results =>
  Array.from({ length: cells }, (_, a) => {
    const from = steps(s.address, a);
    return defined[from] === 1 ? s.data[bytes[from]!]! : -1;
  });

export const referenceTest = 'reference chip';

/** The tests that were performed, ready to be compared. */
export const rigTests = (o: RigObservations): RigTest[] => {
  const tests: RigTest[] = [];
  const add = (name: string, actual: Results | undefined, bytes: boolean, foretold: RigTest['foretold']): void => {
    if (actual !== undefined) tests.push({ name, actual, bytes, foretold });
  };
  const one = (value: number | undefined): Results | undefined => (value === undefined ? undefined : [value]);
  add('data lines pulled up without a chip', one(o.noChip?.pulled), false, ({ fault }) => {
    const { mask, levels } = stuckMask(fault);
    return [[(0xff & ~mask) | levels]];
  });
  add('presence test without a chip', one(o.noChip?.followed), false, ({ fault }) => [[0xff & ~stuckMask(fault).mask]]);
  add('presence test with a chip', one(o.followed), false, (s) => [[s.floating]]);
  const [dataSteps, addressSteps] = [dataBusTest(), addressBusTest(o.part.addressLines)];
  add('data bus test', o.dataBus, true, (s) => [busResults(dataSteps, s)]);
  add('address bus test', o.addressBus, true, (s) => [busResults(addressSteps, s)]);
  const { pageWitness, protection, reference } = o;
  if (pageWitness !== undefined)
    add('page-boundary witness', Array.from(pageWitness.actual), true, (s) =>
      pageResults(pageWitness, o.part.pageBytes.value, s),
    );
  if (protection !== undefined)
    add('protection-code witness', [bit(protection.refusedWhenOn), bit(protection.tookWhenOff)], false, (s) => [
      s.floating === 0 ? protectionResults(o.part, s) : [-1, -1],
    ]);
  if (reference !== undefined)
    add(referenceTest, Array.from(reference.readback), true, (s) => [
      referenceResults(reference.wanted, reference.readback.length, s),
    ]);
  return tests;
};

/** True when the test's result is one that this suspicion could have given. */
export const couldGive = (test: RigTest, s: RigSuspicion): boolean => {
  const care = test.bytes ? 0xff & ~s.floating : -1;
  return test
    .foretold(s)
    .some((results) => results.every((r, i) => r === -1 || ((r ^ (test.actual[i] ?? -1)) & care) === 0));
};
