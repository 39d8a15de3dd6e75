// What each test of the rig check would give if one wire of the writer were faulty, so that results can be judged by comparison.
import type { Part } from '../chip/part.js';
import { type LineName, linesOf, type WiringFault } from '../chip/wiring-fault.js';
import type { Image } from '../image/image.js';
import {
  addressBusTest,
  arriving,
  type BusStep,
  dataBusTest,
  drivenBytes,
  protectionCodes,
  sameLoads,
} from './bus-tests.js';
import { byteTable, indexOf, type MapStep, steps } from './line-map.js';
import { readbackCase } from './readback-case.js';
import { referencePrediction } from './reference-fit.js';
import { addressLineNames, dataLineNames, singleFaults, wiringOf } from './wiring.js';

/** The results of one test as numbers; -1 where nothing can be foretold. */
type Results = readonly number[];

/** One suspicion about the writer's wiring. Data is the same map in both directions for a single fault. */
export interface RigSuspicion {
  /** Null: a sound writer, with the chip that it was told or a smaller one. */
  readonly fault: WiringFault | null;
  readonly address: readonly MapStep[];
  readonly data: Uint8Array;
  /** What the writer's own data pins read while it alone drives them: stuck and joined lines overrule it. */
  readonly pins: Uint8Array;
  /** Data lines with a level of their own, whoever drives. */
  readonly stuck: number;
  /** Data lines whose level cannot be foretold when read: open ones keep whatever charge they had. */
  readonly floating: number;
}

const soundWriter: RigSuspicion = {
  fault: null,
  address: [],
  data: byteTable([]),
  pins: byteTable([]),
  stuck: 0,
  floating: 0,
};

/** Both at once, the first one nearer to the writer; named after the second. */
export const together = (one: RigSuspicion, other: RigSuspicion): RigSuspicion => ({
  fault: other.fault,
  address: [...one.address, ...other.address],
  data: one.data.map((byte) => other.data[byte]!),
  pins: one.pins.map((byte) => other.pins[byte]!),
  stuck: one.stuck | other.stuck,
  floating: one.floating | other.floating,
});

const openFaults = (lines: readonly LineName[]): WiringFault[] => lines.map((line) => ({ kind: 'open', line }));

/** A sound writer first, then every single fault; an open address line once for each level that it may float at. */
export const rigSuspicions = (part: Part): RigSuspicion[] => {
  const suspicion = (fault: WiringFault, level: 0 | 1): RigSuspicion => {
    const { address, data } = wiringOf([fault], () => level)!;
    const mask = linesOf(fault).reduce(
      (lines, line) => (line.startsWith('D') ? lines | (1 << indexOf(line)) : lines),
      0,
    );
    const table = byteTable(data);
    const overrules = fault.kind === 'stuck' || fault.kind === 'shorted';
    return {
      fault,
      address,
      data: table,
      pins: overrules ? table : soundWriter.pins,
      stuck: fault.kind === 'stuck' ? mask : 0,
      floating: fault.kind === 'open' ? mask : 0,
    };
  };
  return [
    soundWriter,
    ...singleFaults(part.addressLines).map((f) => suspicion(f, 1)),
    ...openFaults(addressLineNames(part.addressLines)).flatMap((f) => [suspicion(f, 0), suspicion(f, 1)]),
    ...openFaults(dataLineNames).map((f) => suspicion(f, 1)),
  ];
};

/** A sound writer with a chip of fewer cells, which does not use the address lines above its own. */
export const smallerChip = (part: Part, cells: number): RigSuspicion => ({
  ...soundWriter,
  address: [{ kind: 'tie', p: part.cells - cells, q: 0 }],
});

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
  /** The data lines as read while the writer drives each of `drivenBytes`, the chip's outputs off. */
  readonly driven?: readonly number[];
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

export const referenceTest = 'reference chip';

/** The tests that were performed, ready to be compared. */
export const rigTests = (o: RigObservations): RigTest[] => {
  const tests: RigTest[] = [];
  const add = (name: string, actual: Results | undefined, bytes: boolean, foretold: RigTest['foretold']): void => {
    if (actual !== undefined) tests.push({ name, actual, bytes, foretold });
  };
  const one = (value: number | undefined): Results | undefined => (value === undefined ? undefined : [value]);
  add('data lines driven and read', o.driven, false, ({ pins }) => [drivenBytes.map((byte) => pins[byte]!)]);
  add('data lines pulled up without a chip', one(o.noChip?.pulled), false, ({ pins }) => [[pins[0xff]!]]);
  add('presence test without a chip', one(o.noChip?.followed), false, ({ stuck }) => [[0xff & ~stuck]]);
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
  if (reference !== undefined) {
    const c = readbackCase(reference.wanted, reference.readback);
    add(referenceTest, Array.from(reference.readback), true, (s) => [Array.from(referencePrediction(c, s))]);
  }
  return tests;
};

/** True when the test's result is one that this suspicion could have given. */
export const couldGive = (test: RigTest, s: RigSuspicion): boolean => {
  const care = test.bytes ? 0xff & ~s.floating : -1;
  return test
    .foretold(s)
    .some((results) => results.every((r, i) => r === -1 || ((r ^ (test.actual[i] ?? -1)) & care) === 0));
};

/** The tests that write to a scratch chip and read it. */
export const cellTests: readonly string[] = ['data bus test', 'address bus test', 'page-boundary witness'];

/** Cells of the scratch chip that read otherwise than behind sound wiring, ascending. */
export const cellsAmiss = ({ part, dataBus, addressBus, pageWitness }: RigObservations): number[] => {
  const amissIn = (test: readonly BusStep[], actual: Results | undefined): number[] => {
    if (actual === undefined) return [];
    const foretold = busResults(test, soundWriter);
    const reads = test.filter(({ kind }) => kind === 'read');
    return reads.flatMap(({ address }, i) => (foretold[i] === -1 || foretold[i] === actual[i] ? [] : address));
  };
  const { address: from, wanted, actual } = pageWitness ?? { address: 0, wanted: [], actual: [] };
  const cells = [
    ...amissIn(dataBusTest(), dataBus),
    ...amissIn(addressBusTest(part.addressLines), addressBus),
    ...Array.from(wanted).flatMap((byte, i) => (byte === actual[i] ? [] : from + i)),
  ];
  return [...new Set(cells)].sort((a, b) => a - b);
};
