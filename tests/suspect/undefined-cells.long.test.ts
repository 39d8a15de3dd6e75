// Images of which half is undefined: whatever sends a read into that half fits any byte, and must not be believed for it.
import { describe, expect, it } from 'vitest';
import { findPart } from '../../src/chip/chip-table.js';
import { type LineName, spellWiringFault, type WiringFault } from '../../src/chip/wiring-fault.js';
import { seededRandom } from '../../src/ground/random.js';
import type { Image } from '../../src/image/image.js';
import { explainReadback } from '../../src/suspect/explain-readback.js';
import type { ReadbackVerdict } from '../../src/suspect/explanation.js';
import { faultsAmong, judgeRig } from '../../src/suspect/judge-rig.js';
import { singleFaults } from '../../src/suspect/wiring.js';
import { skerryDisplay, skerryPins } from './display-image.js';
import { makesAgain, readNaively } from './naive-reader.js';

const random = seededRandom(77);
const display = skerryDisplay();
const faults = singleFaults(11);
const { signed } = skerryPins;

/** The display of which only the signed half is wanted; the other holds what `fill` gives. */
const halfOf = (fill: () => number): Image => {
  const isWanted = (a: number): boolean => ((a >> signed) & 1) === 1;
  return {
    name: 'half',
    bytes: display.bytes.map((byte, a) => (isWanted(a) ? byte : fill())),
    defined: display.bytes.map((_, a) => (isWanted(a) ? 1 : 0)),
  };
};
const erased = halfOf(() => 0xff);
const written = halfOf(() => random.below(256));
const images = [
  ['erased', erased],
  ['full of other bytes', written],
] as const;

const expectNothingFalse = (image: Image, readback: Uint8Array, verdict: ReadbackVerdict, of: string): void => {
  if (verdict.healthy) expect(verdict.explanations).toEqual([]);
  for (const one of verdict.explanations) {
    expect(makesAgain(image.bytes, readback, one, image.defined), `${of}: ${JSON.stringify(one.cause)}`).not.toBe(
      false,
    );
    expect(one.unexplained, `${of}: ${JSON.stringify(one.cause)}`).toEqual([]);
    // Counted apart, the counts add up.
    expect(one.explains + one.silent.length, of).toBe(verdict.differing);
    expect(one.silent.every((a) => image.defined[a] === 1)).toBe(true);
  }
};

const read = (image: Image, wires: readonly WiringFault[]) => {
  const readback = readNaively(image.bytes, wires);
  return { readback, verdict: explainReadback(image, readback) };
};

const namedIn = (verdict: ReadbackVerdict): string[] => [
  ...verdict.explanations.map((e) => e.faults.map(spellWiringFault).join(' + ')),
  ...verdict.unjudged.map((u) => spellWiringFault(u.fault)),
];

describe.each(images)('when half of the image is undefined and %s', (_, image) => {
  it('when it is read through a single fault, then that is named or said to be not ruled out, and nothing false', () => {
    for (const fault of faults.filter(
      (f, i) => i % 13 === 3 || (i % 3 === 0 && JSON.stringify(f).includes(`"A${signed}"`)),
    )) {
      const words = spellWiringFault(fault);
      const { readback, verdict } = read(image, [fault]);
      expectNothingFalse(image, readback, verdict, words);
      if (!verdict.healthy) expect(namedIn(verdict), words).toContain(words);
    }
  });

  it('when it is read through two faults, then something that reads the same is found, and nothing false', () => {
    for (let trial = 0; trial < 6; trial++) {
      const pair = [random.pick(faults), random.pick(faults)];
      const words = pair.map(spellWiringFault).join(' + ');
      const { readback, verdict } = read(image, pair);
      expectNothingFalse(image, readback, verdict, words);
      const touchesHalf = words.includes(`A${signed} `);
      if (!touchesHalf && !verdict.healthy) expect(verdict.explanations.length, words).toBeGreaterThan(0);
    }
  });

  it('when one cell has decayed, then it is described and no wire is blamed', () => {
    for (let trial = 0; trial < 10; trial++) {
      const readback = image.bytes.slice();
      const at = random.below(2048) | (1 << signed);
      readback[at]! ^= 1 << random.below(7);
      const verdict = explainReadback(image, readback);
      expect(verdict).toMatchObject({ compared: 1024, differing: 1, explanations: [], unjudged: [], partial: [] });
      expect(verdict.pattern?.cells).toMatchObject([{ address: at }]);
    }
  });

  it('when nothing is seated, then blank and absent are named and no wire', () => {
    const { explanations, unjudged } = explainReadback(image, new Uint8Array(2048).fill(0xff));
    expect(explanations.map((e) => e.kind)).toEqual(['blank', 'absent']);
    // The line whose other half is undefined would read the same from an erased chip.
    expect(unjudged.map((u) => spellWiringFault(u.fault))).toEqual([`A${signed} stuck 0`, `A${signed} open`]);
  });

  it('when only undefined cells read otherwise, in one pass or from pass to pass, then the board is healthy', () => {
    const other = image.bytes.map((byte, a) => (image.defined[a] === 1 ? byte : random.below(256)));
    expect(explainReadback(image, other)).toMatchObject({ healthy: true, explanations: [] });
    const { healthy, unsteadyUndefined } = explainReadback(image, image.bytes, { passes: [other] });
    expect(healthy).toBe(true);
    expect(unsteadyUndefined).toBeGreaterThan(0);
  });

  it('when the difference is not on the list, then nothing false is offered, 24 times', () => {
    for (let trial = 0; trial < 24; trial++) {
      let readback: Uint8Array = image.bytes.slice();
      if (trial % 4 === 0) for (let k = 0; k <= random.below(40); k++) readback[random.below(2048)] = random.below(256);
      if (trial % 4 === 1)
        readback = readNaively(
          image.bytes,
          [0, 1, 2].map(() => random.pick(faults)),
        );
      if (trial % 4 === 2) readback = random.bytes(2048);
      // Bytes of something else in which the line of the undefined half makes no difference.
      if (trial % 4 === 3) {
        const something = random.bytes(2048);
        readback = something.map((_, a) => something[a | (1 << signed)]!);
      }
      const verdict = explainReadback(image, readback);
      expectNothingFalse(image, readback, verdict, `trial ${trial}`);
      if (trial % 4 > 1) expect(verdict.explanations).toEqual([]);
    }
  });
});

describe('a crossing with the line of the undefined half', () => {
  const crossed: WiringFault = { kind: 'crossed', lines: ['A4', `A${signed}`] };

  it('when its bytes are found where the crossing puts them, then it is first, with what it says nothing of', () => {
    const { verdict } = read(written, [crossed]);
    const [first] = verdict.explanations;
    expect(first!.faults).toEqual([crossed]);
    expect(first!.silent.length).toBe(verdict.differing);
    expect(first).toMatchObject({ explains: 0, elsewhere: 512, unexplained: [] });
  });

  it('when cells read FF that were never written, then what says so by the image comes before', () => {
    const { verdict } = read(erased, [crossed]);
    expect(verdict.explanations[0]!.faults).toEqual([crossed]);
  });
});

describe('one crossing', () => {
  it.each(images)(
    'when half is undefined and %s, then a crossing is named once, not as a permutation as well',
    (_, image) => {
      for (const lines of [
        ['A0', 'A5'],
        ['A4', signed],
        ['D1', 'D6'],
      ] as const) {
        const pair = lines.map((line) => (typeof line === 'number' ? `A${line}` : line)) as [LineName, LineName];
        const { verdict } = read(image, [{ kind: 'crossed', lines: pair }]);
        const kinds = verdict.explanations.map((e) => e.kind);
        expect(kinds.filter((kind) => kind === 'crossed' || kind === 'permutation').length, pair.join()).toBe(1);
        expect(kinds).not.toContain('pages-elsewhere');
      }
    },
  );
});

describe('two fitting explanations', () => {
  it('when one foretells what differs and the other says nothing of it, then the other is no explanation', () => {
    const { verdict } = read(erased, [{ kind: 'crossed', lines: ['A4', 'A7'] }]);
    expect(verdict.explanations[0]!.faults).toEqual([{ kind: 'crossed', lines: ['A4', 'A7'] }]);
    expect(verdict.explanations.every((e) => e.silent.length === 0)).toBe(true);
    expect(verdict.unjudged).toEqual([]);
  });
});

describe('an open address line that wanders', () => {
  const wandering = (line: number): Uint8Array =>
    written.bytes.map((_, a) => written.bytes[random.chance(0.5) ? a : a ^ (1 << line)]!);

  it('when the image defines the bytes of both its levels, then it is named', () => {
    const { explanations } = explainReadback(written, wandering(4));
    expect(explanations.map((e) => e.faults)).toEqual([[{ kind: 'open', line: 'A4' }]]);
  });

  it('when the image defines those of one level alone, then it is not', () => {
    expect(explainReadback(written, wandering(signed)).explanations).toEqual([]);
  });
});

describe('pages', () => {
  it('when a page of which half is undefined was not written, then what its undefined cells read is no evidence', () => {
    const readback = written.bytes.map((byte, a) => (a >= 64 && a < 128 && written.defined[a] === 1 ? 0xff : byte));
    const { explanations } = explainReadback(written, readback, { part: findPart('AT28C64B') });
    expect(explanations[0]!.cause).toMatchObject({ is: 'pages', missing: [{ from: 0x40, to: 0x7f }], moved: [] });
  });
});

describe('the rig check with a reference chip of which half is undefined', () => {
  const part = findPart('AT28C16');
  const judged = (readback: Uint8Array) => judgeRig({ part, reference: { wanted: erased, readback } });
  const blamedIn = (verdict: ReturnType<typeof judgeRig>): string[] =>
    verdict.lines.flatMap((l) =>
      l.fault === null ? [] : [`${l.line} ${l.fault.groups.map((g) => [g.kind, ...g.others].join(' '))}`],
    );

  it('when it reads as wanted, then nothing is wrong', () => {
    expect(judged(erased.bytes)).toMatchObject({ sound: true, explanations: [], remarks: [] });
  });

  it('when two lines are crossed, then they are what is wrong, and no line that the undefined half hides', () => {
    const verdict = judged(readNaively(erased.bytes, [{ kind: 'crossed', lines: ['A4', 'A7'] }]));
    expect(faultsAmong(verdict.explanations)).toEqual([{ kind: 'crossed', lines: ['A4', 'A7'] }]);
    expect(blamedIn(verdict)).toEqual(['A4 crossed A7', 'A7 crossed A4']);
  });

  it('when no single fault is there, then none is blamed and none ruled out', () => {
    const two: WiringFault[] = [
      { kind: 'crossed', lines: ['A4', 'A7'] },
      { kind: 'stuck', line: 'D3', level: 1 },
    ];
    const decayed = erased.bytes.map((byte, a) => (a === 0x5f7 ? byte ^ 4 : byte));
    for (const readback of [readNaively(erased.bytes, two), decayed, new Uint8Array(2048).fill(0xff)]) {
      const verdict = judged(readback);
      expect(verdict.explanations).toEqual([]);
      expect(blamedIn(verdict)).toEqual([]);
      expect(verdict.lines.every((l) => l.proven.length === 0)).toBe(true);
    }
    expect(judged(new Uint8Array(2048).fill(0xff)).remarks[0]).toMatchObject({
      is: 'not-shown',
      faults: expect.arrayContaining([{ kind: 'stuck', line: `A${signed}`, level: 0 }]),
    });
  });

  it('when any single fault is there, then it is among what is named, not ruled out, or not seen', () => {
    for (const fault of faults.filter((_, i) => i % 43 === 1)) {
      const words = spellWiringFault(fault);
      const verdict = judged(readNaively(erased.bytes, [fault]));
      const said = [...faultsAmong(verdict.explanations), ...verdict.unseen].map(spellWiringFault);
      if (!said.includes(words))
        expect(verdict.remarks, words).toContainEqual(expect.objectContaining({ is: 'not-shown' }));
    }
  });
});
