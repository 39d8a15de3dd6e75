import { describe, expect, it } from 'vitest';
import { findPart } from '../../src/chip/chip-table.js';
import type { Part } from '../../src/chip/part.js';
import { type LineName, sameFault, spellWiringFault, type WiringFault } from '../../src/chip/wiring-fault.js';
import { seededRandom } from '../../src/ground/random.js';
import { imageOfBytes } from '../../src/image/image.js';
import { rigText } from '../../src/report/rig-text.js';
import { addressBusTest, type BusStep, dataBusTest, pageWitnessBytes } from '../../src/suspect/bus-tests.js';
import { faultsAmong, judgeRig, type RigObservations, type RigVerdict } from '../../src/suspect/judge-rig.js';
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
    expect(lines.every((line) => line.notProven.length === 0)).toBe(true);
    const crossed = judgeRig(observe(part, [{ kind: 'crossed', lines: ['A0', 'A2'] }], true));
    expect(crossed.explanations.map((e) => e.text)).toEqual(['Address lines A0 and A2 are crossed.']);
    expect(crossed.reference?.explanations[0]?.text).toBe('Address lines A0 and A2 are crossed.');
  });
});

it('when any line may be inverted, or many pairs crossed, then that is said in two lines', () => {
  const { reference: _, ...seen } = observe(findPart('AT28C64B'), [{ kind: 'inverted', line: 'A7' }], false);
  const verdict = judgeRig(seen);
  expect(verdict.explanations.length).toBeGreaterThan(50);
  const text = rigText(verdict, false);
  expect(text).toContain('  - One line is inverted: A0..A12 or D0..D7.\n');
  expect(text).toMatch(/ {2}- Two lines are crossed: A0 with A1.*; A11 with A12; D0 with/);
  expect(text.match(/^ {2}- /gm)).toHaveLength(2);
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
    const text = rigText(verdict, false);
    expect(text).toContain('Not settled');
    expect(text).toContain('cell 0x0100 alone reads amiss');
    expect(text).toContain('Next: Run the check again with another scratch chip');
    // The tests that the chip did not spoil keep what they show.
    expect(verdict.lines.find(({ line }) => line === 'D3')!.proven[0]!.by).toEqual(['data bus test']);
    expect(text).not.toContain('anything');
  });

  it('when it is a page that took nothing then that page is named', () => {
    const { pageWitness } = sound;
    const verdict = judgeRig({ ...sound, pageWitness: { ...pageWitness!, actual: pageWitness!.before } });
    expect(verdict.remarks.join()).toContain('cells of one page, 0x0000..0x003F, alone read amiss');
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
    [['A12'], '0x1000', 3],
    [['A11', 'A12'], '0x0800', 1],
    [['A10', 'A11', 'A12'], '0x0400', 0],
  ] as const)('when it does not use %j then it is named, first, beside what reads alike', (lines, cells, others) => {
    for (const withReference of [false, true]) {
      const found = smaller(lines, withReference);
      const [first, ...rest] = found.explanations;
      expect(first!.text).toContain(`The chip has ${cells} cells, not 0x2000: it does not use A`);
      // Two lines that are off read alike, and are no single fault.
      expect(first!.text.includes('Or none of these lines reaches it')).toBe(lines.length > 1);
      // A reference chip tells an open line from a stuck one no better, but one short from a smaller chip.
      expect(rest.length).toBeLessThanOrEqual(others);
      expect(found).toMatchObject({ sound: false, chipInDoubt: true, remarks: [] });
      expect(found.next).toMatch(
        /^Power off and read the part number on the chip: is it AT28C64B\? If it is, follow A1/,
      );
      const wrong = found.lines.filter((l) => l.fault !== null);
      expect(wrong.map((l) => l.line)).toEqual(lines);
      for (const { fault } of wrong) {
        expect(fault!.what).toContain('not used by a smaller chip');
        expect(fault!.oneOf).toBe(true);
      }
      expect(found.lines[0]!.proven.length).toBeGreaterThan(0);
    }
  });

  it('when a line that is not the highest has no effect then no smaller chip is spoken of', () => {
    const found = smaller(['A9'], true);
    expect(found.explanations.map((e) => e.text).join(' ')).not.toContain('cells');
    expect(found.chipInDoubt).toBe(false);
  });
});

describe('what is proven of a rig that is not sound', () => {
  const part = findPart('AT28C64B');
  const known = imageOfBytes('known', random.bytes(part.cells));
  const readThrough = (faults: readonly WiringFault[], more: Partial<RigObservations> = {}) =>
    judgeRig({ part, reference: { wanted: known, readback: readNaively(known.bytes, faults) }, ...more });
  const faultOf = (verdict: ReturnType<typeof judgeRig>, line: string) =>
    verdict.lines.find((l) => l.line === line)!.fault?.what ?? null;

  it('when the reference chip shows a crossing, then the table says so of both lines, and once in words', () => {
    const verdict = readThrough([{ kind: 'crossed', lines: ['A3', 'A5'] }]);
    const found = verdict.lines.filter((l) => l.fault !== null);
    expect(found.map((l) => [l.line, l.fault])).toEqual([
      ['A3', { what: 'crossed with A5', by: ['reference chip'], oneOf: false }],
      ['A5', { what: 'crossed with A3', by: ['reference chip'], oneOf: false }],
    ]);
    expect(verdict.lines.flatMap((l) => l.notProven)).toEqual([]);
    const text = rigText(verdict, false);
    expect(text).toMatch(/\n {2}A3 {6}crossed with A5 \[a\]: this is what is wrong\n/);
    expect(text.match(/Address lines A3 and A5 are crossed\./g)).toHaveLength(1);
    expect(text).not.toContain('not ruled out');
  });

  it('when the reference chip itself has a wrong cell, then that is not said of the rig', () => {
    const readback = known.bytes.slice();
    readback[0x123]! ^= 0x04;
    const verdict = judgeRig({ part, followed: 0, reference: { wanted: known, readback } });
    expect(verdict).toMatchObject({ sound: false, chipInDoubt: true, explanations: [] });
    const text = rigText(verdict, false);
    expect(text).toContain('Not settled');
    expect(text).not.toContain('not sound');
    expect(text).toMatch(/1 cell of 8192 differs \(0x0123 reads .*the reference chip may have changed/);
    expect(verdict.next).toContain('another reference chip');
  });

  it('when the reference chip shows two faults together, then their lines are to be followed', () => {
    const verdict = readThrough([
      { kind: 'crossed', lines: ['A3', 'A5'] },
      { kind: 'stuck', line: 'D3', level: 1 },
    ]);
    expect(verdict.explanations).toEqual([]);
    expect(verdict.next).toMatch(/^Follow A3, A5 and D3 /);
  });

  it('when another test is amiss too, then the rig is not sound', () => {
    const readback = known.bytes.slice();
    readback[0x123]! ^= 0x04;
    const verdict = judgeRig({ part, reference: { wanted: known, readback }, dataBus: [1, 2, 3, 4, 5, 6, 7, 8] });
    expect(verdict.chipInDoubt).toBe(false);
    expect(rigText(verdict, false)).toContain('The rig is not sound');
  });

  it('when a line is stuck or open, then the table says that it is one of the two', () => {
    const verdict = readThrough([{ kind: 'stuck', line: 'A3', level: 1 }]);
    expect(faultOf(verdict, 'A3')).toBe('stuck high or open');
    expect(verdict.lines.filter((l) => l.fault !== null)).toHaveLength(1);
    expect(rigText(verdict, false)).not.toContain('from the reference chip');
  });

  it('when a line is found to be stuck, then of the others only what also holds beside it is proven', () => {
    const small = findPart('AT28C16');
    const stuck: WiringFault = { kind: 'stuck', line: 'A3', level: 1 };
    const verdict = judgeRig(observe(small, [stuck], false));
    const line = (name: string) => verdict.lines.find((l) => l.line === name)!;
    expect(line('A3')).toMatchObject({ fault: { what: 'stuck low, stuck high or open' }, proven: [], notProven: [] });
    expect(line('A7').proven.map((p) => p.what)).toEqual([
      'not stuck low',
      'not stuck high',
      'not shorted with any line but A3',
      'not open',
    ]);
    expect(line('A7').notProven).toEqual(['inverted', 'crossed with any line', 'shorted with A3']);
    // What is said not to be there would have been seen beside it; what is left open would not.
    const sameWith = (other: WiringFault): boolean =>
      faultsAmong(judgeRig(observe(small, [stuck, other], false)).explanations).some((f) => sameFault(f, stuck));
    expect(sameWith({ kind: 'stuck', line: 'A7', level: 0 })).toBe(false);
    expect(sameWith({ kind: 'shorted', lines: ['A7', 'A9'], wins: 'low' })).toBe(false);
    expect(sameWith({ kind: 'crossed', lines: ['A7', 'A9'] })).toBe(true);
  });

  it('when several lines changed places, then the table says where each goes', () => {
    // D0 of the chip arrives as D2, D2 as D1, D1 as D0.
    const verdict = readThrough([
      { kind: 'crossed', lines: ['A3', 'A5'] },
      { kind: 'crossed', lines: ['D0', 'D1'] },
      { kind: 'crossed', lines: ['D0', 'D2'] },
    ]);
    const { data } = verdict.reference!.explanations[0]!.permutation!;
    expect(verdict.lines.filter((l) => l.fault !== null).map((l) => `${l.line} ${l.fault!.what}`)).toEqual([
      'A3 goes to A5 at the chip',
      'A5 goes to A3 at the chip',
      ...[0, 1, 2].map((line) => `D${line} goes to D${data.indexOf(line)} at the chip`),
    ]);
    expect(new Set([0, 1, 2].map((line) => data.indexOf(line)))).toEqual(new Set([0, 1, 2]));
    expect(verdict.lines.find((l) => l.line === 'A4')!.proven[0]!.what).toBe('goes to its own pin at the chip');
    expect(verdict.lines.find((l) => l.line === 'D7')!.notProven).toEqual(['open']);
    expect(verdict.remarks[0]).not.toContain('None of these');
    expect(verdict.next).toContain('into their places');
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
    expect(verdict.next).toContain('`romkiln rig --reference <image>`');
  });
});

describe('what is said of crossings that no test can see', () => {
  it.each([
    ['AT28C64B', 'Crossed address lines are looked for only in part: 15 of 78 pairs would give the same when crossed.'],
    ['AT28C16', 'Crossed address lines are not looked for: each of the 55 pairs would give the same when crossed.'],
  ])('when an %s was the scratch chip, then the verdict says so and names the reference check', (name, sentence) => {
    const verdict = judgeRig(observe(findPart(name), [], false));
    expect(verdict.bounds[0]).toBe(sentence);
    expect(verdict.bounds.at(-1)).toContain('`romkiln rig --reference <image>`');
    // Right below the verdict, where it is read.
    expect(rigText(verdict, true)).toContain(`Nothing wrong seen.\n${sentence}\n`);
    // As many as are listed as unseen.
    const unseen = verdict.unseen.filter((f) => f.kind === 'crossed' && f.lines[0].startsWith('A')).length;
    expect(sentence).toContain(` ${unseen} `);
  });

  it('when a reference chip was read, then nothing is left to say, unless its bytes are all alike', () => {
    const part = findPart('AT28C64B');
    expect(judgeRig(observe(part, [], true)).bounds).toEqual([]);
    const alike = imageOfBytes('alike', new Uint8Array(part.cells).fill(0x5a));
    const { bounds } = judgeRig({ part, reference: { wanted: alike, readback: alike.bytes } });
    expect(bounds.at(-1)).toBe(
      'The bytes of alike do not tell these lines apart; a reference chip of random bytes does.',
    );
  });
});

describe('what is proven of a sound rig', () => {
  const proven = (line: string, o: RigObservations): string[] =>
    judgeRig(o)
      .lines.find((l) => l.line === line)!
      .proven.map((p) => `${p.what}: ${p.by.join(', ')}`);
  const notProven = (line: string, o: RigObservations): readonly string[] =>
    judgeRig(o).lines.find((l) => l.line === line)!.notProven;

  it('when only the bus tests ran, then lines are not stuck and not joined, and crossings are open', () => {
    const { part, dataBus, addressBus } = observe(findPart('AT28C64B'), [], false);
    const o = { part, dataBus: dataBus!, addressBus: addressBus! };
    expect(proven('A3', o)).toContain('not stuck high: address bus test');
    expect(proven('A3', o)).toContain('not shorted with any line: address bus test');
    expect(notProven('A3', o)).toContain('crossed with any line');
    expect(notProven('D1', o)).toContain('crossed with any line');
  });

  it('when page and protection were witnesses, then only lines of the same page side and the same parity may be crossed', () => {
    const o = observe(findPart('AT28C64B'), [], false);
    expect(notProven('A3', o)).toEqual(['crossed with A1 or A5']);
    expect(notProven('A12', o)).toEqual(['crossed with A6, A8 or A10']);
    // AA and 55 part odd from even data bits; A0, 80 and 20 single out D7 and D5.
    expect(notProven('D1', o)).toEqual(['crossed with D3']);
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
    remarks: [expect.stringContaining('needs 2')],
  });
  expect(judgeRig({ part, registers: 0 })).toMatchObject({ sound: true, remarks: [expect.stringContaining('PB4')] });
  const odd = judgeRig({ part, dataBus: [1, 2, 3, 4, 5, 6, 7, 8] });
  expect(odd.explanations).toEqual([]);
  expect(odd.remarks[0]).toContain('None of these');
  expect(odd.lines[0]).toEqual({ line: 'A0', fault: null, proven: [], notProven: ['anything'] });
});
