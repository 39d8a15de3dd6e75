import { describe, expect, it } from 'vitest';
import {
  capabilities,
  findPart,
  membersOf,
  parts,
  strictestMember,
  wholeChipCycles,
  wholeChipMs,
} from '../../src/chip/chip-table.js';
import type { Part, Sourced } from '../../src/chip/part.js';
import { ToolError } from '../../src/ground/errors.js';

const figuresOf = (part: Part): readonly Sourced<unknown>[] =>
  [
    part.pageBytes,
    part.cycleMaxUs,
    part.cycleTypicalUs,
    part.loadWindowMaxUs,
    part.protection,
    part.polling,
    part.accessNs,
    part.write,
    part.endurance,
  ].filter((f) => f !== null);

const families = parts.filter((p) => p.members !== null);
const realParts = parts.filter((p) => p.members === null);

describe('every row', () => {
  it('when it is looked at, then lines, cells, page and figures agree', () => {
    for (const part of parts) {
      expect(2 ** part.addressLines, part.name).toBe(part.cells);
      expect(part.cells % part.pageBytes.value, part.name).toBe(0);
      expect([1, 16, 32, 64, 128, 256], part.name).toContain(part.pageBytes.value);
      if (part.pageBytes.value > 1) expect(part.loadWindowMaxUs, part.name).not.toBeNull();
      if (part.cycleTypicalUs) expect(part.cycleTypicalUs.value).toBeLessThanOrEqual(part.cycleMaxUs.value);
      const { pulseMinNs, pulseMaxNs } = part.write.value;
      if (pulseMaxNs !== null) expect(pulseMaxNs, part.name).toBeGreaterThan(pulseMinNs);
    }
  });

  it('when a figure is asked for its source, then it names a document and whether it was read', () => {
    for (const part of parts) {
      for (const figure of figuresOf(part)) {
        expect(figure.source.length, part.name).toBeGreaterThan(8);
        expect(['read', 'memory'], part.name).toContain(figure.known);
      }
    }
  });

  it('when names are compared, then each stands once and in upper case', () => {
    const names = parts.map((p) => p.name);
    expect(new Set(names).size).toBe(names.length);
    expect(names).toEqual(names.map((n) => n.toUpperCase()));
  });

  it('when its capabilities are asked, then they follow from its figures', () => {
    expect(capabilities(findPart('AT28C16'))).toEqual({
      pageMode: false,
      protection: false,
      dataPolling: true,
      toggleBit: false,
      addressRegisters: 2,
    });
    expect(capabilities(findPart('AT28C010'))).toEqual({
      pageMode: true,
      protection: true,
      dataPolling: true,
      toggleBit: true,
      addressRegisters: 3,
    });
  });
});

// The times the sheets print are rounded; the table computes them from cycle and page.
describe('the time of a whole chip', () => {
  it('when an AT28C64E is filled, then it takes the 1.6 s of the Atmel AT28C64 sheet, Device Operation', () => {
    const seconds = wholeChipMs(findPart('AT28C64E'), 'max') / 1000;
    expect(seconds).toBeCloseTo(1.638, 3);
    expect(Math.abs(seconds / 1.6 - 1)).toBeLessThan(0.03);
  });

  it('when an X28HC256 is filled, then it takes less than the 0.8 s of Intersil FN8108 Rev 5.00, p. 1', () => {
    const seconds = wholeChipMs(findPart('X28HC256'), 'typical') / 1000;
    expect(seconds).toBeCloseTo(0.768, 3);
    expect(seconds).toBeLessThan(0.8);
  });

  it('when an X28C64 is filled, then it takes the 0.625 s of the Xicor X28C64 front page', () => {
    const seconds = wholeChipMs(findPart('X28C64'), 'typical') / 1000;
    expect(seconds).toBeCloseTo(0.64, 3);
    expect(Math.abs(seconds / 0.625 - 1)).toBeLessThan(0.03);
  });

  it('when no typical cycle is published, then the longest one counts', () => {
    const part = findPart('AT28C256');
    expect(wholeChipMs(part, 'typical')).toBe(5120);
    expect(wholeChipMs(part, 'max')).toBe(5120);
    expect(wholeChipCycles(part)).toBe(512);
  });
});

describe('a family', () => {
  it.each(families.map((f) => [f.name, f] as const))(
    'when %s stands for its members, then no member is less cautious',
    (_, f) => {
      const members = membersOf(f);
      expect(members.length).toBe(f.members?.length);
      for (const m of members) {
        expect([m.cells, m.addressLines, m.pins]).toEqual([f.cells, f.addressLines, f.pins]);
        expect(m.pageBytes.value % f.pageBytes.value).toBe(0);
        expect(f.cycleMaxUs.value).toBeGreaterThanOrEqual(m.cycleMaxUs.value);
        expect(f.accessNs.value).toBeGreaterThanOrEqual(m.accessNs.value);
        expect(f.endurance.value).toBeLessThanOrEqual(m.endurance.value);
        expect(f.loadWindowMaxUs?.value ?? 0).toBeGreaterThanOrEqual(m.loadWindowMaxUs?.value ?? 0);
        if (!m.protection.value) expect(f.protection.value).toBe(false);
        if (m.polling.value === 'data') expect(f.polling.value).toBe('data');
        const [fw, mw] = [f.write.value, m.write.value];
        for (const minimum of [
          'addressSetupNs',
          'addressHoldNs',
          'dataSetupNs',
          'dataHoldNs',
          'pulseMinNs',
          'pulseHighNs',
        ] as const) {
          expect(fw[minimum]).toBeGreaterThanOrEqual(mw[minimum]);
        }
        expect(fw.pulseMaxNs ?? Infinity).toBeLessThanOrEqual(mw.pulseMaxNs ?? Infinity);
      }
    },
  );

  it('when all members agree on the most cautious figure, then the family is not more cautious than they are', () => {
    for (const f of families) {
      const members = membersOf(f);
      expect(members.some((m) => m.pageBytes.value === f.pageBytes.value)).toBe(true);
      expect(members.some((m) => m.cycleMaxUs.value === f.cycleMaxUs.value)).toBe(true);
      expect(f.protection.value).toBe(members.every((m) => m.protection.value));
    }
  });

  it('when pages differ or are missing, then the smallest counts', () => {
    expect(findPart('28C64').pageBytes.value).toBe(1);
    expect(findPart('28C256').pageBytes.value).toBe(64);
    expect(findPart('28C010').pageBytes.value).toBe(128);
  });

  it('when a member has no protection codes, then the family refuses them', () => {
    expect(findPart('28C16').protection.value).toBe(false);
    expect(findPart('28C64').protection.value).toBe(false);
    expect(findPart('28C256').protection.value).toBe(true);
  });

  it('when its strictest member is asked, then it is a real part that forgives least', () => {
    for (const f of families) {
      const strictest = strictestMember(f);
      expect(f.members).toContain(strictest.name);
      expect(strictest.pageBytes.value).toBe(f.pageBytes.value);
    }
    expect(strictestMember(findPart('28C64')).name).toBe('AT28C64');
    expect(strictestMember(findPart('28C16')).name).toBe('AT28C16');
    expect(strictestMember(findPart('28C010')).name).toBe('AT28C010');
    expect(strictestMember(findPart('AT28C64B')).name).toBe('AT28C64B');
  });
});

describe('a part name', () => {
  it.each([
    ['at28c256', 'AT28C256'],
    ['  AT28C256-15PU ', 'AT28C256'],
    ['AT28C64B-15JU', 'AT28C64B'],
    ['AT28C64-12', 'AT28C64'],
    ['AT28C256F-15', 'AT28C256F'],
    ['AT28C256E', 'AT28C256'],
    ['AT28HC256-90JU-T', 'AT28HC256'],
    ['X28C64P-25', 'X28C64'],
    ['X28HC64JI-70', 'X28HC64'],
    ['CAT28C256LI15', 'CAT28C256'],
    ['M28C64-15WKA1', 'M28C64'],
    ['28c17a-15', '28C17A'],
    ['28C256', '28C256'],
    ['28C256-15', '28C256'],
  ])('when it is written %s, then %s is meant', (typed, name) => {
    expect(findPart(typed).name).toBe(name);
  });

  it.each(['AT28C640', 'AT29C256', '28C64B', '27C256', '', 'x'.repeat(100_000)])(
    'when it is %#, then it is refused',
    (typed) => {
      expect(() => findPart(typed)).toThrow(ToolError);
    },
  );

  it('when it is nearly right, then the near names are said', () => {
    try {
      findPart('AT28C265');
      expect.unreachable();
    } catch (error) {
      expect(ToolError.is(error, 'chip.unknown') && error.message).toBe('There is no chip "AT28C265" in the table.');
      expect(ToolError.is(error, 'chip.unknown') && error.note).toMatch(/AT28C256/);
      expect(ToolError.is(error, 'chip.unknown') && error.exit).toBe(2);
    }
  });

  it('when the table is listed, then every part the writer is built for is in it', () => {
    const wanted =
      'AT28C16 AT28C16E AT28C17 AT28C64 AT28C64E AT28C64B AT28HC64B AT28C256 AT28C256F AT28HC256 AT28C010 AT28C040 ' +
      'X28C64 X28C256 X28HC256 X28C010 CAT28C16A CAT28C64B CAT28C256 M28C64 M28C16A 28C17A';
    expect(realParts.map((p) => p.name)).toEqual(expect.arrayContaining(wanted.split(' ')));
    expect(families.map((p) => p.name)).toEqual(['28C16', '28C17', '28C64', '28C256', '28C010', '28C040']);
  });
});
