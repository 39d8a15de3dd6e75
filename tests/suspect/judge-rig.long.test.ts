import { describe, expect, it } from 'vitest';
import { findPart } from '../../src/chip/chip-table.js';
import type { Part } from '../../src/chip/part.js';
import { type LineName, sameFault, spellWiringFault, type WiringFault } from '../../src/chip/wiring-fault.js';
import { seededRandom } from '../../src/ground/random.js';
import { imageOfBytes } from '../../src/image/image.js';
import { addressBusTest, type BusStep, dataBusTest, pageWitnessBytes } from '../../src/suspect/bus-tests.js';
import { faultsAmong, judgeRig, type RigObservations, type RigVerdict } from '../../src/suspect/judge-rig.js';
import type { FaultGroup } from '../../src/suspect/line-proof.js';
import { addressLineNames, dataLineNames, singleFaults } from '../../src/suspect/wiring.js';
import { arrives, readNaively } from './naive-reader.js';

const random = seededRandom(8);

/** A chip behind faulty wires, written apart from the product's model: cells, page loads, protection, charge on open lines. */
class NaiveBench {
  readonly cells: Uint8Array;
  readonly #lines: number;
  #isProtected = false;
  #driven = 0;
  constructor(
    readonly part: Part,
    readonly faults: readonly WiringFault[],
  ) {
    this.cells = random
      .bytes(256)
      .reduce((cells, byte, i) => cells.fill(byte, (i * part.cells) / 256), new Uint8Array(part.cells));
    this.#lines = part.addressLines;
  }

  #at = (address: number): number => arrives(address, 'A', this.#lines, this.faults);
  #openData = (): number =>
    this.faults.reduce((m, f) => (f.kind === 'open' && f.line[0] === 'D' ? m | (1 << Number(f.line[1])) : m), 0);

  read = (address: number): number => {
    const byte = arrives(this.cells[this.#at(address)]!, 'D', 8, [...this.faults].reverse());
    return (byte & ~this.#openData()) | (this.#driven & this.#openData());
  };

  load(loads: readonly (readonly [number, number])[]): void {
    const arrived = loads.map(([address, byte]) => {
      this.#driven = byte;
      return [this.#at(address), arrives(byte, 'D', 8, this.faults)] as const;
    });
    const text = arrived.map(([a, b]) => `${a.toString(16)}:${b.toString(16)}`).join(' ');
    const mask = this.part.cells - 1;
    const [odd, even] = [(0x5555 & mask).toString(16), (0x2aaa & mask).toString(16)];
    if (this.part.protection.value && text === `${odd}:aa ${even}:55 ${odd}:a0`) this.#isProtected = true;
    else if (this.part.protection.value && text === `${odd}:aa ${even}:55 ${odd}:80 ${odd}:aa ${even}:55 ${odd}:20`)
      this.#isProtected = false;
    else if (!this.#isProtected) {
      const page = arrived[arrived.length - 1]![0] & ~(this.part.pageBytes.value - 1);
      for (const [a, b] of arrived) this.cells[page | (a & (this.part.pageBytes.value - 1))] = b;
    }
  }

  perform(test: readonly BusStep[]): number[] {
    return test.flatMap((s) => {
      if (s.kind === 'read') return [this.read(s.address)];
      this.load([[s.address, s.byte]]);
      return [];
    });
  }
}

const observe = (part: Part, faults: readonly WiringFault[], withReference: boolean): RigObservations => {
  const bench = new NaiveBench(part, faults);
  const stuck = faults.filter((f) => f.kind === 'stuck' && f.line[0] === 'D');
  const followed = stuck.reduce((mask, f) => mask & ~(1 << Number(f.kind === 'stuck' ? f.line[1] : 0)), 0xff);
  const open = faults.reduce((m, f) => (f.kind === 'open' && f.line[0] === 'D' ? m | (1 << Number(f.line[1])) : m), 0);
  const dataBus = bench.perform(dataBusTest());
  const addressBus = bench.perform(addressBusTest(part.addressLines));
  const page = part.pageBytes.value;
  const before = Uint8Array.from({ length: page }, (_, o) => bench.read(o));
  const wanted = pageWitnessBytes(before);
  bench.load(Array.from(wanted, (byte, o) => [o, byte] as const));
  const actual = Uint8Array.from({ length: page }, (_, o) => bench.read(o));
  const mask = part.cells - 1;
  const [odd, even] = [0x5555 & mask, 0x2aaa & mask];
  const takes = (): boolean => {
    const old = bench.read(3);
    bench.load([[3, ~old & 0xff]]);
    return bench.read(3) !== old;
  };
  bench.load([
    [odd, 0xaa],
    [even, 0x55],
    [odd, 0xa0],
  ]);
  const refusedWhenOn = !takes();
  bench.load([
    [odd, 0xaa],
    [even, 0x55],
    [odd, 0x80],
    [odd, 0xaa],
    [even, 0x55],
    [odd, 0x20],
  ]);
  const tookWhenOff = takes();
  const known = imageOfBytes('reference', withReference ? random.bytes(part.cells) : new Uint8Array(0));
  return {
    part,
    registers: 2,
    noChip: {
      pulled: stuck.reduce((m, f) => (f.kind === 'stuck' && f.level === 0 ? m & ~(1 << Number(f.line[1])) : m), 0xff),
      followed,
    },
    followed: open,
    dataBus,
    addressBus,
    ...(page > 1 && { pageWitness: { address: 0, wanted, before, actual } }),
    ...(part.protection.value && { protection: { refusedWhenOn, tookWhenOff } }),
    ...(withReference && { reference: { wanted: known, readback: readNaively(known.bytes, faults) } }),
  };
};

const opens = (part: Part): WiringFault[] => [
  ...addressLineNames(part.addressLines).map((line) => ({ kind: 'open', line }) as const),
  // What an open data line keeps depends on all that was driven before; the presence test decides.
  ...dataLineNames.map((line) => ({ kind: 'open', line }) as const),
];

describe('every single wiring fault of the writer', () => {
  // Every fault of the smallest part, and a spread of those of the larger ones, which take longer.
  it.each([
    ['AT28C16', 1],
    ['AT28C64B', 7],
    ['AT28C256', 23],
  ])(
    'when it is there with an %s as scratch chip, then it is found or in the list of what cannot be seen',
    (name, stride) => {
      const part = findPart(name);
      const soundRig = judgeRig(observe(part, [], false));
      expect(soundRig).toMatchObject({ sound: true, explanations: [], remarks: [] });
      const unseen = new Set(soundRig.unseen.map(spellWiringFault));
      for (const fault of [...singleFaults(part.addressLines), ...opens(part)].filter((_, i) => i % stride === 0)) {
        const found = judgeRig(observe(part, [fault], false));
        const words = spellWiringFault(fault);
        if (unseen.has(words)) expect(found.sound, words).toBe(true);
        else expect(faultsAmong(found.explanations).map(spellWiringFault), words).toContain(words);
      }
    },
  );

  it('when a reference chip is read as well, then no crossing and no inversion is left unseen', () => {
    const part = findPart('AT28C64B');
    const { unseen, reference, lines } = judgeRig(observe(part, [], true));
    expect(unseen).toEqual([]);
    expect(reference?.healthy).toBe(true);
    expect(lines.every((line) => line.notProven?.length === 0)).toBe(true);
    const crossed = judgeRig(observe(part, [{ kind: 'crossed', lines: ['A0', 'A2'] }], true));
    const fault: WiringFault = { kind: 'crossed', lines: ['A0', 'A2'] };
    expect(faultsAmong(crossed.explanations)).toEqual([fault]);
    expect(crossed.reference?.explanations[0]?.faults).toEqual([fault]);
  });
});

describe('a scratch chip with a bad spot', () => {
  const part = findPart('AT28C64B');
  const sound = observe(part, [], false);
  const steps = addressBusTest(part.addressLines).filter((s) => s.kind === 'read');
  const readingAmiss = (at: (address: number) => boolean): number[] =>
    sound.addressBus!.map((byte, i) => (at(steps[i]!.address) ? byte ^ 0x04 : byte));
  const { dataBus, followed } = sound;

  it('when one cell alone reads amiss then the rig is not accused, and another chip is asked for', () => {
    const verdict = judgeRig({
      part,
      ...(followed !== undefined && { followed }),
      dataBus: dataBus!,
      addressBus: readingAmiss((address) => address === 0x100),
    });
    expect(verdict).toMatchObject({ sound: false, chipInDoubt: true, explanations: [] });
    expect(verdict.remarks).toEqual([{ is: 'bad-spot', cells: [0x100] }]);
    expect(verdict.next).toEqual({ is: 'another-scratch-chip' });
    // The tests that the chip did not spoil keep what they show.
    expect(verdict.lines.find(({ line }) => line === 'D3')!.proven[0]!.by).toEqual(['data bus test']);
    expect(verdict.lines.every((l) => l.notProven !== null)).toBe(true);
  });

  it('when it is a page that took nothing then that page is named', () => {
    const { pageWitness } = sound;
    const verdict = judgeRig({ ...sound, pageWitness: { ...pageWitness!, actual: pageWitness!.before } });
    expect(verdict.remarks).toEqual([{ is: 'bad-spot', cells: Array.from({ length: 64 }, (_, i) => i) }]);
    expect(verdict.chipInDoubt).toBe(true);
  });

  it('when cells of several pages read amiss, or a test without cells, then the wires stay suspected', () => {
    const several = { ...sound, addressBus: readingAmiss((address) => address >= 0x400) };
    expect(judgeRig(several)).toMatchObject({ sound: false, chipInDoubt: false });
    const driven = { ...sound, addressBus: readingAmiss((address) => address === 0x100), driven: [1, 2, 3] };
    expect(judgeRig(driven).chipInDoubt).toBe(false);
  });
});

describe('a chip that is smaller than said', () => {
  const part = findPart('AT28C64B');
  /** Address lines above its own tied low are what it does not use. */
  const smaller = (lines: readonly LineName[], withReference: boolean): RigVerdict =>
    judgeRig(
      observe(
        part,
        lines.map((line) => ({ kind: 'stuck', line, level: 0 })),
        withReference,
      ),
    );

  it.each([
    [['A12'], 0x1000, 3],
    [['A11', 'A12'], 0x800, 1],
    [['A10', 'A11', 'A12'], 0x400, 0],
  ] as const)('when it does not use %j then it is named, first, beside what reads alike', (lines, cells, others) => {
    for (const withReference of [false, true]) {
      const found = smaller(lines, withReference);
      const [first, ...rest] = found.explanations;
      expect(first).toEqual({ fault: null, cells, unused: lines });
      // A reference chip tells an open line from a stuck one no better, but one short from a smaller chip.
      expect(rest.length).toBeLessThanOrEqual(others);
      expect(found).toMatchObject({ sound: false, chipInDoubt: true, remarks: [] });
      expect(found.next).toEqual({ is: 'part-number', lines });
      const wrong = found.lines.filter((l) => l.fault !== null);
      expect(wrong.map((l) => l.line)).toEqual(lines);
      for (const { fault } of wrong) {
        expect(fault).toMatchObject({ isUnused: true, oneOf: true });
      }
      expect(found.lines[0]!.proven.length).toBeGreaterThan(0);
    }
  });

  it('when a line that is not the highest has no effect then no smaller chip is spoken of', () => {
    const found = smaller(['A9'], true);
    expect(found.explanations.every((e) => e.fault !== null)).toBe(true);
    expect(found.chipInDoubt).toBe(false);
  });
});

describe('what is proven of a rig that is not sound', () => {
  const part = findPart('AT28C64B');
  const known = imageOfBytes('known', random.bytes(part.cells));
  const readThrough = (faults: readonly WiringFault[], more: Partial<RigObservations> = {}) =>
    judgeRig({ part, reference: { wanted: known, readback: readNaively(known.bytes, faults) }, ...more });
  it('when the reference chip shows a crossing, then that is told of both lines', () => {
    const verdict = readThrough([{ kind: 'crossed', lines: ['A3', 'A5'] }]);
    const found = verdict.lines.filter((l) => l.fault !== null);
    const crossedWith = (other: LineName) => ({
      groups: [{ kind: 'crossed', level: null, others: [other] }],
      by: ['reference chip'],
      oneOf: false,
    });
    expect(found).toMatchObject([
      { line: 'A3', fault: crossedWith('A5') },
      { line: 'A5', fault: crossedWith('A3') },
    ]);
    expect(verdict.lines.flatMap((l) => l.notProven)).toEqual([]);
  });

  it('when the reference chip itself has a wrong cell, then that is not said of the rig', () => {
    const readback = known.bytes.slice();
    readback[0x123]! ^= 0x04;
    const verdict = judgeRig({ part, followed: 0, reference: { wanted: known, readback } });
    expect(verdict).toMatchObject({ sound: false, chipInDoubt: true, explanations: [] });
    expect(verdict.remarks).toEqual([{ is: 'other-reference' }]);
    expect(verdict.reference!.pattern!.cells).toMatchObject([{ address: 0x123 }]);
    expect(verdict.next).toEqual({ is: 'another-reference-chip' });
  });

  it('when the reference chip shows two faults together, then their lines are to be followed', () => {
    const verdict = readThrough([
      { kind: 'crossed', lines: ['A3', 'A5'] },
      { kind: 'stuck', line: 'D3', level: 1 },
    ]);
    expect(verdict.explanations).toEqual([]);
    expect(verdict.next).toEqual({ is: 'follow-and-mend', lines: ['A3', 'A5', 'D3'] });
  });

  it('when another test is amiss too, then the rig is not sound', () => {
    const readback = known.bytes.slice();
    readback[0x123]! ^= 0x04;
    const verdict = judgeRig({ part, reference: { wanted: known, readback }, dataBus: [1, 2, 3, 4, 5, 6, 7, 8] });
    expect(verdict.chipInDoubt).toBe(false);
  });

  it('when a line is stuck or open, then it is one of the two', () => {
    const verdict = readThrough([{ kind: 'stuck', line: 'A3', level: 1 }]);
    const wrong = verdict.lines.filter((l) => l.fault !== null);
    expect(wrong).toMatchObject([{ line: 'A3', fault: { groups: [{ kind: 'stuck', level: 1 }, { kind: 'open' }] } }]);
  });

  it('when a line is found to be stuck, then of the others only what also holds beside it is proven', () => {
    const small = findPart('AT28C16');
    const stuck: WiringFault = { kind: 'stuck', line: 'A3', level: 1 };
    const verdict = judgeRig(observe(small, [stuck], false));
    const line = (name: string) => verdict.lines.find((l) => l.line === name)!;
    const isOneOf = [{ kind: 'stuck', level: 0 }, { kind: 'stuck', level: 1 }, { kind: 'open' }];
    expect(line('A3')).toMatchObject({ fault: { groups: isOneOf }, proven: [], notProven: [] });
    expect(line('A7').proven.map((p) => p.not)).toMatchObject([
      { kind: 'stuck', level: 0 },
      { kind: 'stuck', level: 1 },
      { kind: 'shorted', others: expect.not.arrayContaining(['A3']) },
      { kind: 'open' },
    ]);
    expect(line('A7').notProven).toMatchObject([
      { kind: 'inverted' },
      { kind: 'crossed', others: { length: 10 } },
      { kind: 'shorted', others: ['A3'] },
    ]);
    // What is said not to be there would have been seen beside it; what is left open would not.
    const sameWith = (other: WiringFault): boolean =>
      faultsAmong(judgeRig(observe(small, [stuck, other], false)).explanations).some((f) => sameFault(f, stuck));
    expect(sameWith({ kind: 'stuck', line: 'A7', level: 0 })).toBe(false);
    expect(sameWith({ kind: 'shorted', lines: ['A7', 'A9'], wins: 'low' })).toBe(false);
    expect(sameWith({ kind: 'crossed', lines: ['A7', 'A9'] })).toBe(true);
  });

  it('when several lines changed places, then it is told where each goes', () => {
    // D0 of the chip arrives as D2, D2 as D1, D1 as D0.
    const verdict = readThrough([
      { kind: 'crossed', lines: ['A3', 'A5'] },
      { kind: 'crossed', lines: ['D0', 'D1'] },
      { kind: 'crossed', lines: ['D0', 'D2'] },
    ]);
    const { data } = verdict.reference!.explanations[0]!.permutation!;
    expect(verdict.lines.filter((l) => l.fault !== null).map((l) => `${l.line} ${l.fault!.goesTo}`)).toEqual([
      'A3 A5',
      'A5 A3',
      ...[0, 1, 2].map((line) => `D${line} D${data.indexOf(line)}`),
    ]);
    expect(new Set([0, 1, 2].map((line) => data.indexOf(line)))).toEqual(new Set([0, 1, 2]));
    expect(verdict.lines.find((l) => l.line === 'A4')!.ownPin).toEqual(['reference chip']);
    expect(verdict.lines.find((l) => l.line === 'D7')!.notProven).toMatchObject([{ kind: 'open' }]);
    expect(verdict.remarks[0]).toMatchObject({ is: 'no-single-fault' });
    expect(verdict.next).toEqual({ is: 'put-back' });
    const present = readThrough(
      [
        { kind: 'crossed', lines: ['A3', 'A5'] },
        { kind: 'crossed', lines: ['D0', 'D1'] },
      ],
      { followed: 0 },
    );
    expect(present.lines.find((l) => l.line === 'D7')!.notProven).toEqual([]);
  });

  it('when the bytes of the reference leave several permutations, then nothing is said of any line', () => {
    // A10, A11 and A12 make no difference, so that any of the three may be any other.
    const poor = imageOfBytes(
      'poor',
      known.bytes.map((_, a) => known.bytes[a & 0x3ff]!),
    );
    const faults: WiringFault[] = [
      { kind: 'crossed', lines: ['A0', 'A1'] },
      { kind: 'crossed', lines: ['A2', 'A3'] },
    ];
    const readback = readNaively(poor.bytes, faults);
    const verdict = judgeRig({ part, reference: { wanted: poor, readback } });
    expect(verdict.reference!.explanations[0]!.permutation).not.toBeNull();
    expect(verdict.lines.every((l) => l.fault === null && l.proven.length === 0)).toBe(true);
  });

  it('when many faults would give the same, then no line is blamed and a reference chip is the next step', () => {
    const verdict = judgeRig(observe(part, [{ kind: 'crossed', lines: ['A3', 'A4'] }], false));
    expect(verdict.explanations.length).toBeGreaterThan(3);
    expect(verdict.lines.every((l) => l.fault === null)).toBe(true);
    expect(verdict.next).toEqual({ is: 'reference-chip' });
  });
});

describe('crossings that no test can see', () => {
  it.each([
    ['AT28C64B', 15, 78],
    ['AT28C16', 55, 55],
  ])('when an %s was the scratch chip, then they are counted', (name, alike, pairs) => {
    const verdict = judgeRig(observe(findPart(name), [], false));
    expect(verdict.bounds[0]).toEqual({ bus: 'A', alike, pairs });
    // As many as are listed as unseen.
    const unseen = verdict.unseen.filter((f) => f.kind === 'crossed' && f.lines[0].startsWith('A')).length;
    expect(unseen).toBe(alike);
  });

  it('when a reference chip was read, then none is left, unless its bytes are all alike', () => {
    const part = findPart('AT28C64B');
    expect(judgeRig(observe(part, [], true)).bounds).toEqual([]);
    const alike = imageOfBytes('alike', new Uint8Array(part.cells).fill(0x5a));
    const { bounds, referenceName } = judgeRig({ part, reference: { wanted: alike, readback: alike.bytes } });
    expect(bounds.map(({ bus }) => bus)).toEqual(['A', 'D']);
    expect(referenceName).toBe('alike');
  });
});

describe('what is proven of a sound rig', () => {
  const proven = (line: string, o: RigObservations): string[] =>
    judgeRig(o)
      .lines.find((l) => l.line === line)!
      .proven.map(({ not, by }) => `not ${saidGroup(not)}: ${by.join(', ')}`);
  const notProven = (line: string, o: RigObservations): readonly string[] =>
    judgeRig(o)
      .lines.find((l) => l.line === line)!
      .notProven!.map(saidGroup);
  const saidGroup = ({ kind, level, others }: FaultGroup): string => [kind, level ?? '', ...others].join(' ').trim();

  it('when only the bus tests ran, then lines are not stuck and not joined, and crossings are open', () => {
    const { part, dataBus, addressBus } = observe(findPart('AT28C64B'), [], false);
    const o = { part, dataBus: dataBus!, addressBus: addressBus! };
    const others = (line: LineName, count: number): string =>
      Array.from({ length: count }, (_, i) => `${line[0]}${i}`)
        .filter((other) => other !== line)
        .join(' ');
    expect(proven('A3', o)).toContain('not stuck 1: address bus test');
    expect(proven('A3', o)).toContain(`not shorted  ${others('A3', 13)}: address bus test`);
    expect(notProven('A3', o)).toContain(`crossed  ${others('A3', 13)}`);
    expect(notProven('D1', o)).toContain(`crossed  ${others('D1', 8)}`);
  });

  it('when page and protection were witnesses, then only lines of the same page side and the same parity may be crossed', () => {
    const o = observe(findPart('AT28C64B'), [], false);
    expect(notProven('A3', o)).toEqual(['crossed  A1 A5']);
    expect(notProven('A12', o)).toEqual(['crossed  A6 A8 A10']);
    // AA and 55 part odd from even data bits; A0, 80 and 20 single out D7 and D5.
    expect(notProven('D1', o)).toEqual(['crossed  D3']);
    expect(notProven('D7', o)).toEqual([]);
  });

  it('when nothing ran, then nothing is proven', () => {
    const verdict = judgeRig({ part: findPart('AT28C16') });
    expect(verdict.lines.every((l) => l.proven.length === 0)).toBe(true);
    expect(verdict.unseen.length).toBe(singleFaults(11).length + 19);
  });
});

it('when too few registers answer, or results fit no single fault, then that is a remark', () => {
  const part = findPart('AT28C256');
  expect(judgeRig({ part, registers: 1 })).toMatchObject({
    sound: false,
    remarks: [{ is: 'registers', counted: 1, needed: 2 }],
  });
  expect(judgeRig({ part, registers: 0 })).toMatchObject({ sound: true, remarks: [{ is: 'no-return' }] });
  const odd = judgeRig({ part, dataBus: [1, 2, 3, 4, 5, 6, 7, 8] });
  expect(odd.explanations).toEqual([]);
  expect(odd.remarks[0]).toEqual({ is: 'no-single-fault', tests: ['data bus test'] });
  expect(odd.lines[0]).toEqual({ line: 'A0', fault: null, proven: [], ownPin: null, notProven: null });
});
