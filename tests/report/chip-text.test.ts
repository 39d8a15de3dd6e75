import { describe, expect, it } from 'vitest';
import { findPart, parts } from '../../src/chip/chip-table.js';
import { chipListText, chipText } from '../../src/report/chip-text.js';

const rowOf = (name: string): string =>
  chipListText(parts)
    .split('\n')
    .find((line) => line.startsWith(`${name} `))!;

describe('the list of chips', () => {
  it('when a part has pages then its row has size, pins, page, cycles and the time of the whole chip', () => {
    const part = findPart('AT28C256');
    expect(part.cells / part.pageBytes.value).toBe(512);
    // 512 pages of at most 10 ms.
    expect(rowOf('AT28C256').split(/ {2,}/)).toEqual([
      ...['AT28C256', '32 KiB', '28', '64', '10 ms', '-'],
      ...['5.12 s', 'codes', 'toggle', '10,000'],
    ]);
  });

  it('when a part has no pages then its page is a cell', () => {
    expect(rowOf('AT28C16').split(/ {2,}/).slice(1, 4)).toEqual(['2 KiB', '24', 'cell']);
    expect(rowOf('AT28C16')).toContain('none');
  });

  it('when the table is listed then every part has one row', () => {
    const names = chipListText(parts)
      .split('\n')
      .slice(1, parts.length + 1)
      .map((line) => line.split(' ')[0]);
    expect(names).toEqual(parts.map((p) => p.name));
  });
});

describe('one chip', () => {
  it('when its figures are told then each with its value, how it is known and its source', () => {
    const part = findPart('AT28C64B');
    const text = chipText(part);
    expect(text).toMatch(/^AT28C64B \(Atmel\): 8 KiB, 13 address lines, 28 pins\n/);
    const rows = text
      .split('\n')
      .slice(2)
      .filter(Boolean)
      .map((line) => line.split(/ {2,}/));
    for (const row of rows) expect(['read', 'from memory']).toContain(row[2]);
    expect(rows.every(([, , , source]) => source !== undefined && source.length > 5)).toBe(true);
    expect(rows.find(([name]) => name === 'page')?.[1]).toBe('64 bytes');
    expect(rows.find(([name]) => name === 'write cycle, longest')?.[1]).toBe('10 ms');
    expect(rows.find(([name]) => name === 'endurance')?.[1]).toMatch(/^10?0,000 cycles$/);
  });

  it('when figures are not given then their rows are left out', () => {
    const { loadWindowMaxUs: _, cycleTypicalUs: __, ...rest } = findPart('AT28C64B');
    const text = chipText({ ...rest, loadWindowMaxUs: null, cycleTypicalUs: null });
    expect(text).not.toMatch(/byte-load window|typical/);
  });

  it('when it is a family then its members are named', () => {
    const family = parts.find((p) => p.members !== null)!;
    expect(chipText(family)).toContain(`Family of ${family.members!.join(', ')}: `);
    expect(chipText(findPart('AT28C16'))).not.toContain('Family');
  });

  it('when a write pulse may have any length then that is said', () => {
    const part = findPart('AT28C256');
    const write = { ...part.write, value: { ...part.write.value, pulseMinNs: 100, pulseMaxNs: null } };
    expect(chipText({ ...part, write })).toMatch(/write pulse +100 ns to any length/);
    const bounded = { ...part.write, value: { ...part.write.value, pulseMinNs: 100, pulseMaxNs: 1000 } };
    expect(chipText({ ...part, write: bounded })).toMatch(/write pulse +100 ns to 1000 ns/);
  });
});
