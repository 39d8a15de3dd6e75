import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { findPart } from '../../src/chip/chip-table.js';
import type { WiringFault } from '../../src/chip/wiring-fault.js';
import { seededRandom } from '../../src/ground/random.js';
import { type Image, imageOfBytes } from '../../src/image/image.js';
import { buildPlan, pinListYaml, readPlan, romOf } from '../../src/plan/plan.js';
import { explainReadback, type ReadbackOptions } from '../../src/suspect/explain-readback.js';
import type { ReadbackVerdict } from '../../src/suspect/explanation.js';
import { singleFaults } from '../../src/suspect/wiring.js';
import { skerryDisplay } from './display-image.js';
import { makesAgain, readNaively } from './naive-reader.js';

const random = seededRandom(41);
const display = skerryDisplay();
const noise = imageOfBytes('noise', random.bytes(2048));
const faults = singleFaults(11);

const same = (one: Uint8Array, other: Uint8Array): boolean => Buffer.compare(one, other) === 0;

/** Every exact explanation by faults at reading gives the readback when the faults are made again, apart from the product's own maps. */
const expectNoFalseAccusation = (image: Image, readback: Uint8Array, verdict: ReadbackVerdict): void => {
  for (const one of verdict.explanations) {
    expect(one.exact).toBe(true);
    expect(makesAgain(image.bytes, readback, one), JSON.stringify(one.cause)).not.toBe(false);
  }
};

const named = (verdict: ReadbackVerdict, wanted: readonly WiringFault[]): boolean =>
  verdict.explanations.some((one) => JSON.stringify(one.faults) === JSON.stringify(wanted));

describe('single wiring faults', () => {
  it.each([
    ['the display', display],
    ['random bytes', noise],
  ])('when %s is read through any one of them, then it is named, and nothing false', (_, image) => {
    // Every third one; bench/suspects.js goes through all of them.
    for (const fault of faults.filter((_, i) => i % 3 === 0)) {
      const readback = readNaively(image.bytes, [fault]);
      const verdict = explainReadback(image, readback);
      expectNoFalseAccusation(image, readback, verdict);
      if (!verdict.healthy) expect(named(verdict, [fault]), JSON.stringify(fault)).toBe(true);
      else expect(same(readback, image.bytes)).toBe(true);
    }
  });

  it('when a line is stuck, then the open line that looks the same is named beside it, with what decides', () => {
    const verdict = explainReadback(noise, readNaively(noise.bytes, [{ kind: 'stuck', line: 'D3', level: 1 }]));
    expect(verdict.explanations).toMatchObject([
      { faults: [{ kind: 'stuck', line: 'D3', level: 1 }], measurement: { is: 'open-or-stuck', line: 'D3' } },
      { faults: [{ kind: 'open', line: 'D3' }], cause: { is: 'wires', level: 1 } },
    ]);
    expect(verdict.equallyGood).toEqual([[0, 1]]);
  });
});

describe('pairs of wiring faults', () => {
  it('when two faults are there, then they or a simpler fault that reads the same are found', () => {
    for (let trial = 0; trial < 16; trial++) {
      const image = trial % 2 === 0 ? display : noise;
      const pair = [random.pick(faults), random.pick(faults)];
      const readback = readNaively(image.bytes, pair);
      const verdict = explainReadback(image, readback);
      expectNoFalseAccusation(image, readback, verdict);
      expect(verdict.healthy || verdict.explanations.length > 0, JSON.stringify(pair)).toBe(true);
    }
  });
});

const expectKind = (
  image: Image,
  readback: Uint8Array,
  kind: string,
  options: ReadbackOptions = {},
): ReadbackVerdict => {
  const verdict = explainReadback(image, readback, options);
  expect(verdict.explanations.map((e) => e.kind)).toContain(kind);
  expect(verdict.explanations.find((e) => e.kind === kind)).toMatchObject({ exact: true, unexplained: [] });
  return verdict;
};

describe('whole images', () => {
  it('when every byte is complemented, reversed or FF, then that is said', () => {
    expectKind(
      noise,
      noise.bytes.map((b) => ~b),
      'complement',
    );
    const reversed = noise.bytes.map((b) =>
      Number.parseInt(b.toString(2).padStart(8, '0').split('').reverse().join(''), 2),
    );
    expect(expectKind(noise, reversed, 'reversed-bits').explanations).toHaveLength(1);
    const blank = expectKind(noise, new Uint8Array(2048).fill(255), 'blank');
    expect(blank.explanations.map((e) => e.kind)).toEqual(['blank', 'absent']);
    expect(expectKind(noise, new Uint8Array(2048).fill(255), 'absent', { followed: 0xff }).explanations).toHaveLength(
      1,
    );
    expect(expectKind(noise, new Uint8Array(2048).fill(255), 'blank', { followed: 0 }).explanations).toHaveLength(1);
  });

  it('when chips of a set are exchanged, then the other image is named', () => {
    const other = imageOfBytes('high', random.bytes(2048));
    const verdict = expectKind(noise, other.bytes, 'swapped-images', { others: [other] });
    expect(verdict.explanations[0]!.cause).toEqual({ is: 'another-image', name: 'high' });
  });

  it('when images of a set define some cells only, then the rest must read what was there before', () => {
    const half = (image: Image, from: number): Image => ({
      ...image,
      defined: image.defined.map((_, a) => (a >= from && a < from + 1024 ? 1 : 0)),
    });
    const [own, other] = [half(noise, 1024), half(imageOfBytes('high', random.bytes(2048)), 512)];
    const burned = other.bytes.map((byte, a) => (other.defined[a] === 1 ? byte : 0xff));
    const { explanations } = explainReadback(own, burned, { others: [other] });
    expect(explanations).toHaveLength(1);
    expect(explanations[0]).toMatchObject({ cause: { is: 'another-image', name: 'high' }, silent: [] });
    const held = random.bytes(2048);
    const over = other.bytes.map((byte, a) => (other.defined[a] === 1 ? byte : held[a]!));
    expect(explainReadback(own, over, { others: [other] }).explanations).toEqual([]);
    expect(explainReadback(own, over, { others: [other], before: held }).explanations).toHaveLength(1);
  });

  it('when the image sits two bytes too high, then that is said, whatever came in at the edge', () => {
    const round = noise.bytes.map((_, a) => noise.bytes[(a + 2046) % 2048]!);
    const shifted = { is: 'shifted', by: 2 };
    expect(expectKind(noise, round, 'shifted').explanations[0]!.cause).toEqual({ ...shifted, edge: 'wrapped' });
    const filled = round.map((b, a) => (a < 2 ? 255 : b));
    expect(expectKind(noise, filled, 'shifted').explanations[0]!.cause).toEqual({ ...shifted, edge: 'erased' });
  });

  it.each([0x200, 0x300, 0x400, -0x1f0])(
    'when it was loaded %i bytes off, then that is said, wrapping or not',
    (by) => {
      const at = (a: number): number | undefined => noise.bytes[a - by];
      const filled = noise.bytes.map((_, a) => at(a) ?? 0xff);
      expect(expectKind(noise, filled, 'shifted').explanations[0]!.cause).toEqual({
        is: 'shifted',
        by,
        edge: 'erased',
      });
      const round = noise.bytes.map((_, a) => noise.bytes[(a - by + 2048) % 2048]!);
      const { explanations } = expectKind(noise, round, 'shifted');
      const found = explanations.find(({ cause }) => cause.is === 'shifted')!.cause;
      expect(found).toMatchObject({ edge: 'wrapped' });
      // Off by half of the chip, up and down are the same.
      if (found.is === 'shifted') expect(Math.abs(found.by)).toBe(Math.abs(by));
    },
  );

  it('when the chip is half as large, then it is said beside the address line that would look the same', () => {
    const wrapped = noise.bytes.map((_, a) => noise.bytes[1024 + (a % 1024)]!);
    const verdict = expectKind(noise, wrapped, 'smaller-chip');
    expect(named(verdict, [{ kind: 'stuck', line: 'A10', level: 1 }])).toBe(true);
    // Of pages whose edges were right already these are not sent, and what was burned before them stays.
    const sent = noise.bytes.map((byte, a) => (a >= 1024 && a % 64 === 63 ? 0xff : byte));
    const edges = imageOfBytes('edges', sent);
    const burned = Uint8Array.from({ length: 2048 }, (_, a) =>
      a % 64 === 63 ? sent[a % 1024]! : sent[1024 + (a % 1024)]!,
    );
    const { explanations } = explainReadback(edges, burned, { part: findPart('AT28C64B') });
    expect(explanations.map((e) => e.kind)).toContain('smaller-chip');
    // Of two bytes for one cell the one burned last stays, at either level of a line that was stuck then, too.
    const low = verdict.explanations.find((e) => JSON.stringify(e.faults).includes('"level":0'));
    expect(low).toMatchObject({ faults: [{ kind: 'stuck', line: 'A10' }], cause: { is: 'wires', when: 'both' } });
    expect(verdict.equallyGood[0]).toHaveLength(4);
  });
});

describe('cells that do not take, in a chip without page mode', () => {
  const part = findPart('AT28C16');
  const refused = (...cells: readonly number[]): Uint8Array =>
    noise.bytes.map((byte, a) => {
      const cell = cells.find((x) => a >= x && a < (Math.floor(x / 64) + 1) * 64);
      return cell === undefined ? byte : a === cell ? byte ^ 0x10 : 0xff;
    });

  it('when one ends its line of the burn then it is named, and what was left out behind it', () => {
    const { explanations } = explainReadback(noise, refused(0x12f), { part });
    const left = [{ from: 0x130, to: 0x13f }];
    expect(explanations.map((e) => e.cause)).toEqual([{ is: 'refusing-cells', cells: [0x12f], left, isErased: true }]);
    expect(explanations[0]!.faults).toEqual([]);
    expect(explainReadback(noise, refused(0x12f), { part: findPart('AT28C64B') }).explanations).toEqual([]);
  });

  it('when two do then both are named; where more do, or what is behind was written, it is none of these', () => {
    const two = explainReadback(noise, refused(0x03e, 0x12f), { part }).explanations;
    expect(two[0]!.cause).toMatchObject({
      cells: [0x03e, 0x12f],
      left: [
        { from: 0x03f, to: 0x03f },
        { from: 0x130, to: 0x13f },
      ],
    });
    expect(explainReadback(noise, refused(1, 65, 129, 193, 257), { part }).explanations).toEqual([]);
    const written = refused(0x12f).fill(0x00, 0x138, 0x139);
    expect(explainReadback(noise, written, { part }).explanations).toEqual([]);
    expect(explainReadback(noise, refused(0x13f), { part }).explanations).toEqual([]);
  });
});

describe('pages', () => {
  it('when two pages were not written and one holds the bytes of another, then they are named', () => {
    const readback = noise.bytes.slice();
    readback.fill(255, 64, 128);
    readback.fill(255, 1024, 1088);
    expectKind(noise, readback, 'pages-missing', { part: findPart('AT28C64B') });
    readback.set(noise.bytes.subarray(256, 320), 512);
    const verdict = expectKind(noise, readback, 'pages-elsewhere', { part: findPart('AT28C64B') });
    expect(verdict.explanations[0]!.cause).toMatchObject({
      is: 'pages',
      isPartsPage: true,
      missing: [
        { from: 0x40, to: 0x7f },
        { from: 0x400, to: 0x43f },
      ],
      moved: [{ at: { from: 0x200, to: 0x23f }, holds: { from: 0x100, to: 0x13f } }],
    });
  });

  it('when blocks of 64 went into a part with pages of 32, then the page size is blamed', () => {
    const readback = noise.bytes.map((b, a) => (a & 32 ? b : 255));
    const verdict = expectKind(noise, readback, 'page-too-large');
    expect(verdict.explanations[0]!.cause).toEqual({ is: 'page-too-large', block: 64, page: 32, kept: 'last' });
  });

  it.each([
    ['a block of cells', (a: number) => a >= 64 && a < 128],
    ['every other block', (a: number) => (a & 32) === 0],
  ])('when the part is written cell by cell and %s reads FF, then no page is blamed', (_, unwritten) => {
    const readback = noise.bytes.map((b, a) => (unwritten(a) ? 255 : b));
    const { explanations } = explainReadback(noise, readback, { part: findPart('AT28C16') });
    expect(explanations.length).toBeGreaterThan(0);
    expect(explanations.map((e) => e.kind)).not.toContain('page-too-large');
    for (const { cause } of explanations)
      if (cause.is === 'pages') expect(cause).toMatchObject({ size: 1, mayBeProtected: false });
    const withPages = explainReadback(noise, readback, { part: findPart('AT28C64B') });
    expect(withPages.explanations.map((e) => e.cause)).toContainEqual(
      expect.objectContaining({ is: 'pages', mayBeProtected: true }),
    );
  });

  it('when cells side by side were not written one by one, then they are one range', () => {
    const readback = noise.bytes.map((b, a) => ((a >= 64 && a < 128) || a === 7 ? 255 : b));
    const { explanations } = explainReadback(noise, readback, { part: findPart('AT28C16') });
    expect(explanations.map((e) => e.cause)).toMatchObject([
      {
        missingCount: 65,
        missing: [
          { from: 7, to: 7 },
          { from: 0x40, to: 0x7f },
        ],
      },
    ]);
  });

  it('when an address line was stuck only while burning, then that is told from reading', () => {
    const readback = noise.bytes.map((_, a) => (a & 8 ? 255 : noise.bytes[a | 8]!));
    const verdict = explainReadback(noise, readback);
    expect(verdict.explanations).toContainEqual(
      expect.objectContaining({
        faults: [{ kind: 'stuck', line: 'A3', level: 0 }],
        cause: expect.objectContaining({ is: 'wires', when: 'burning' }),
      }),
    );
  });
});

describe('unsteady readbacks', () => {
  const flickering = (line: number): Uint8Array => noise.bytes.map((b) => (random.chance(0.5) ? b ^ (1 << line) : b));

  it('when a few cells change from pass to pass, then they are called unsteady', () => {
    const pass = noise.bytes.slice();
    pass[77]! ^= 1;
    pass[900]! ^= 32;
    const verdict = explainReadback(noise, noise.bytes, { passes: [pass] });
    expect(verdict.healthy).toBe(false);
    expect(verdict.explanations.map((e) => e.kind)).toEqual(['unsteady']);
    expect(verdict.explanations[0]!.cause).toEqual({ is: 'unsteady', count: 2, first: 0x4d, many: false });
  });

  it('when most cells change, then it is asked whether the passes are of one chip', () => {
    const { explanations } = explainReadback(noise, noise.bytes, { passes: [random.bytes(2048)] });
    expect(explanations[0]!.cause).toMatchObject({ is: 'unsteady', many: true });
  });

  it('when one data line changes everywhere, then it is called open', () => {
    const verdict = explainReadback(noise, flickering(6), { passes: [flickering(6), flickering(6)] });
    expect(verdict.explanations[0]).toMatchObject({ kind: 'open', faults: [{ kind: 'open', line: 'D6' }] });
  });

  it('when an address line wanders, then it is named even from one pass', () => {
    const readback = noise.bytes.map((_, a) => noise.bytes[random.chance(0.5) ? a : a ^ 16]!);
    const { explanations } = explainReadback(noise, readback);
    expect(explanations).toHaveLength(1);
    expect(explanations[0]).toMatchObject({ kind: 'open', faults: [{ kind: 'open', line: 'A4' }] });
  });
});

describe('what is not on the list', () => {
  it('when the readback is as wanted, then nothing is blamed', () => {
    expect(explainReadback(noise, noise.bytes.slice())).toMatchObject({
      healthy: true,
      explanations: [],
      partial: [],
      pattern: null,
      advice: null,
    });
  });

  it('when cells are damaged at random, then none of the explanations is offered, 120 times', () => {
    for (let trial = 0; trial < 120; trial++) {
      const image = random.chance(0.5) ? display : noise;
      const readback = image.bytes.slice();
      // Three wrong bits in a cell, and never FF, so that no unwritten cell and no single line makes it.
      for (let n = 0; n < 1 + random.below(20); n++) readback[random.below(2048)]! ^= 0x54 >> random.below(2);
      const verdict = explainReadback(image, readback);
      expectNoFalseAccusation(image, readback, verdict);
      if (!verdict.healthy && !verdict.explanations.every((e) => e.kind === 'pages-missing'))
        expect(verdict.explanations).toEqual([]);
    }
  });

  it('when a fault explains nearly everything, then it is called partial and the rest is listed', () => {
    const readback = readNaively(noise.bytes, [{ kind: 'crossed', lines: ['A2', 'A9'] }]);
    readback[5]! ^= 0x18;
    const verdict = explainReadback(noise, readback);
    expect(verdict.explanations).toEqual([]);
    expect(verdict.partial[0]).toMatchObject({
      exact: false,
      unexplained: [5],
      faults: [{ kind: 'crossed', lines: ['A2', 'A9'] }],
    });
    expect(verdict.pattern).not.toBeNull();
    expect(verdict.advice).toMatchObject({ hasNear: true });
  });

  it('when one bit of one cell is wrong, then the simplest description says so', () => {
    const readback = noise.bytes.slice();
    readback[0x123]! ^= 0x40;
    const [actual, wanted] = [readback[0x123]!, noise.bytes[0x123]!];
    expect(explainReadback(noise, readback).pattern).toMatchObject({
      cells: [{ address: 0x123, actual, wanted }],
      lines: ['D6'],
      always: actual & 0x40 ? 1 : 0,
    });
  });

  it('when cells changed, then what a burn would write again is known with the part, and steadiness with passes', () => {
    const readback = noise.bytes.map((b, a) => ([3, 0x0c0, 0x0c2].includes(a) ? b ^ 0x18 : b));
    const advice = (options: ReadbackOptions) => explainReadback(noise, readback, options).advice;
    expect(advice({})).toEqual({ trouble: 'few', hasNear: false, passes: 1, knowsBefore: false, burns: null });
    expect(advice({ passes: [readback] })).toMatchObject({ passes: 2 });
    expect(advice({ part: findPart('AT28C64B') })!.burns).toEqual({
      pageBytes: 64,
      pages: 2,
      first: { from: 0, to: 63 },
    });
    expect(advice({ part: findPart('AT28C16') })!.burns).toMatchObject({ pages: 3, first: { from: 3, to: 3 } });
    // A description, with no cause asserted.
    expect(explainReadback(noise, readback).explanations).toEqual([]);
  });

  it('when much is wrong or unsteady, then that is told apart', () => {
    expect(explainReadback(noise, random.bytes(2048)).advice).toMatchObject({ trouble: 'many' });
    const flicker = noise.bytes.map((b, a) => (a % 400 === 7 ? b ^ 0x18 : b));
    flicker[9]! ^= 2;
    const wrong = noise.bytes.map((b, a) => (a === 9 ? b ^ 2 : b));
    expect(explainReadback(noise, wrong, { passes: [flicker] }).advice).toMatchObject({ trouble: 'unsteady' });
    expect(explainReadback(noise, new Uint8Array(2048).fill(255)).advice).toBeNull();
  });

  it('when cells are undefined, then they carry no evidence', () => {
    const defined = Uint8Array.from({ length: 2048 }, (_, a) => (a % 3 === 0 ? 0 : 1));
    const spoiled = noise.bytes.map((b, a) => (a % 3 === 0 ? ~b : b));
    expect(explainReadback({ ...noise, defined }, spoiled)).toMatchObject({ healthy: true, compared: 1365 });
    const crossed = explainReadback(
      { ...noise, defined },
      readNaively(noise.bytes, [{ kind: 'crossed', lines: ['A0', 'A5'] }]),
    );
    expect(named(crossed, [{ kind: 'crossed', lines: ['A0', 'A5'] }])).toBe(true);
  });
});

describe('a plan', () => {
  const plan = readPlan(readFileSync('tests/support/tide-gauge.yaml', 'utf8'), 'tide-gauge.yaml');

  it('when lines are crossed, then its pin lists are offered as the wiring is, and the image they build reads right', () => {
    const rom = romOf(plan);
    const { image } = buildPlan(plan)[0]!;
    const wiring: readonly WiringFault[] = [
      { kind: 'crossed', lines: ['A3', 'A9'] },
      { kind: 'crossed', lines: ['D0', 'D5'] },
    ];
    const { explanations } = explainReadback(image, readNaively(image.bytes, wiring), { rom });
    const pins = explanations[0]!.correctedPins!;
    const corrected = readFileSync('tests/support/tide-gauge.yaml', 'utf8').replace(
      / {4}address:[\s\S]*$/,
      `${pinListYaml(pins.address, pins.data)}\n`,
    );
    const rebuilt = buildPlan(readPlan(corrected, 'corrected.yaml'))[0]!.image;
    expect(readNaively(rebuilt.bytes, wiring)).toEqual(image.bytes);
  });
});

it('when a readback is no whole chip or a pass is shorter, then that is refused', () => {
  expect(() => explainReadback(noise, new Uint8Array(1000))).toThrow('The readback has 1000 bytes');
  expect(() => explainReadback(noise, new Uint8Array(1024))).toThrow('The readback has 1024 bytes');
  expect(() => explainReadback(noise, noise.bytes, { passes: [new Uint8Array(5)] })).toThrow('One pass has 5 bytes');
});
