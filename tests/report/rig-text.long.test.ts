// What a judgement on a rig says, sentence by sentence.
import { describe, expect, it } from 'vitest';
import { findPart } from '../../src/chip/chip-table.js';
import { type LineName, parseWiringFault } from '../../src/chip/wiring-fault.js';
import { seededRandom } from '../../src/ground/random.js';
import { imageOfBytes } from '../../src/image/image.js';
import { rigText } from '../../src/report/rig-text.js';
import { rigWords } from '../../src/report/rig-words.js';
import { addressBusTest, type BusStep, dataBusTest } from '../../src/suspect/bus-tests.js';
import { judgeRig, type RigObservations } from '../../src/suspect/judge-rig.js';
import { arrives, readNaively } from '../suspect/naive-reader.js';

const part = findPart('AT28C64B');
const known = imageOfBytes('known', seededRandom(8).bytes(part.cells));
const through = (...faults: readonly string[]) => {
  const readback = readNaively(known.bytes, faults.map(parseWiringFault));
  return judgeRig({ part, reference: { wanted: known, readback } });
};

/** The bytes that a bus test reads of a chip behind faulty address lines. */
const perform = (test: readonly BusStep[], ...faults: readonly string[]): number[] => {
  const cells = new Map<number, number>();
  return test.flatMap((step) => {
    const cell = arrives(step.address, 'A', part.addressLines, faults.map(parseWiringFault));
    if (step.kind === 'read') return [cells.get(cell) ?? 0];
    cells.set(cell, step.byte);
    return [];
  });
};
const busTests = (...faults: readonly string[]): RigObservations => ({
  part,
  followed: 0,
  dataBus: perform(dataBusTest(), ...faults),
  addressBus: perform(addressBusTest(part.addressLines), ...faults),
});

describe('line by line', () => {
  const lineOf = (verdict: ReturnType<typeof judgeRig>, line: LineName) =>
    rigWords(verdict).lines.find((l) => l.line === line)!;

  it('when the reference chip shows a crossing, then both lines say so, and the explanation stands once', () => {
    const text = rigText(through('A3 A5 crossed'), false);
    expect(text).toMatch(/\n {2}A3 {6}crossed with A5 \[a\]: this is what is wrong\n/);
    expect(text.match(/Address lines A3 and A5 are crossed\./g)).toHaveLength(1);
    expect(text).not.toContain('not ruled out');
  });

  it('when a line is stuck or open, then it is one of the two', () => {
    const verdict = through('A3 stuck 1');
    expect(lineOf(verdict, 'A3').fault!.what).toBe('stuck high or open');
    expect(rigText(verdict, false)).not.toContain('from the reference chip');
  });

  it('when only the bus tests ran, then what they show and leave open is said in few words', () => {
    const line = lineOf(judgeRig(busTests()), 'A3');
    expect(line.proven).toContainEqual({ what: 'not shorted with any line', by: ['address bus test'] });
    expect(line.notProven).toContain('crossed with any line');
    const beside = lineOf(judgeRig(busTests('A5 stuck 1')), 'A3');
    expect(beside.proven.map((p) => p.what)).toContain('not shorted with any line but A5');
  });

  it('when lines changed places, then it says where each goes', () => {
    const verdict = through('A3 A5 crossed', 'D0 D1 crossed');
    expect(lineOf(verdict, 'A3').fault!.what).toBe('goes to A5 at the chip');
    expect(lineOf(verdict, 'A4').proven[0]!.what).toBe('goes to its own pin at the chip');
    expect(rigWords(verdict).next).toContain('into their places');
  });

  it('when results fit no single fault, then anything is left open', () => {
    const odd = judgeRig({ part, dataBus: [1, 2, 3, 4, 5, 6, 7, 8] });
    expect(lineOf(odd, 'A0').notProven).toEqual(['anything']);
    expect(rigWords(odd).remarks[0]).toContain('No single wiring fault explains this');
  });
});

describe('the headline and what stands below it', () => {
  it('when any line may be inverted, or many pairs crossed, then that takes two lines', () => {
    // By the codes that one inverted line spoils.
    const verdict = judgeRig({ ...busTests(), protection: { refusedWhenOn: false, tookWhenOff: true } });
    expect(verdict.explanations.length).toBeGreaterThan(50);
    const text = rigText(verdict, false);
    expect(text).toContain('  - One line is inverted: A0..A12 or D0..D7.\n');
    expect(text).toMatch(/ {2}- Two lines are crossed: A0 with A1.*; A11 with A12; D0 with/);
    expect(text.match(/^ {2}- /gm)).toHaveLength(2);
  });

  it('when one cell of the scratch chip alone reads amiss, then another chip is asked for', () => {
    const steps = addressBusTest(part.addressLines).filter((s) => s.kind === 'read');
    const sound = busTests();
    const addressBus = sound.addressBus!.map((byte, i) => (steps[i]!.address === 0x100 ? byte ^ 4 : byte));
    const text = rigText(judgeRig({ ...sound, addressBus }), false);
    expect(text).toContain('Undecided');
    expect(text).toContain('only cell 0x0100 reads wrong');
    expect(text).toContain('Next: Run the check again with another scratch chip');
  });

  it('when the reference chip itself has a wrong cell, then that is not said of the rig', () => {
    const readback = known.bytes.map((byte, a) => (a === 0x123 ? byte ^ 4 : byte));
    const verdict = judgeRig({ part, followed: 0, reference: { wanted: known, readback } });
    const text = rigText(verdict, false);
    expect(text).toContain('Undecided');
    expect(text).not.toContain('not sound');
    expect(text).toMatch(/1 cell of 8192 differs \(0x0123 reads .*the reference chip may have changed/);
    const both = judgeRig({ part, reference: { wanted: known, readback }, dataBus: [1, 2, 3, 4, 5, 6, 7, 8] });
    expect(rigText(both, false)).toContain('The rig is not sound');
  });

  it('when crossings cannot be seen, then it says so right below the verdict', () => {
    const text = rigText(judgeRig(busTests()), true);
    expect(text).toContain(
      'Passed what these tests cover.\nThese tests cannot see crossed address lines: each of the 78 pairs reads the same when crossed.\n',
    );
    expect(text).toContain(
      '`romkiln rig --reference <image>`, with a chip that was burned elsewhere, finds crossed lines.',
    );
    const alike = imageOfBytes('alike', new Uint8Array(part.cells).fill(0x5a));
    const { bounds } = rigWords(judgeRig({ part, reference: { wanted: alike, readback: alike.bytes } }));
    expect(bounds.at(-1)).toBe(
      'The bytes of alike do not tell these lines apart; a reference chip of random bytes does.',
    );
  });

  it('when the chip is smaller than said, then its part number is asked for', () => {
    const { explanations, next } = rigWords(through('A11 stuck 0', 'A12 stuck 0'));
    expect(explanations[0]!.text).toBe(
      'The chip has 0x0800 cells, not 0x2000: it does not use A11 and A12. Or none of these lines reaches it, which reads alike.',
    );
    expect(next).toMatch(
      /^Power off and read the part number on the chip: is it AT28C64B\? If it is, follow A11 and A12/,
    );
  });

  it('when two faults show together, then their lines are to be followed', () => {
    expect(rigWords(through('A3 A5 crossed', 'D3 stuck 1')).next).toMatch(/^Follow A3, A5 and D3 /);
  });

  it('when too few registers answer, then that is a remark', () => {
    const remarks = (registers: number) => rigWords(judgeRig({ part, registers })).remarks;
    expect(remarks(1)).toEqual(['1 register was counted, and AT28C64B needs 2 for its 13 address lines.']);
    expect(remarks(0)[0]).toContain('PB4');
  });
});
