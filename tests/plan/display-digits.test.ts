// Numbers on a display against what the language itself makes of them, and against double dabble.
import { describe, expect, it } from 'vitest';
import { asSigned, type DigitRules, showNumber } from '../../src/plan/display-digits.js';

const rules: DigitRules = { places: 4, radix: 10, leadingZeros: 'blank', minus: 'floating', overflow: null };
const show = (value: number, more: Partial<DigitRules> = {}, decimals = 0, signed = value < 0): string => {
  const { letters, pointAt } = showNumber(value, signed, decimals, { ...rules, ...more });
  return pointAt === null ? letters : `${letters.slice(0, pointAt + 1)}.${letters.slice(pointAt + 1)}`;
};

/** Shift and add 3: C. B. Falconer, double-dabble note, 2004 (comp.arch.embedded). All registers after each shift. */
function doubleDabble(bits: string, digits: number): string[] {
  let bcd = 0n;
  return [...bits].map((bit) => {
    for (let d = 0n; d < digits; d++) if (((bcd >> (4n * d)) & 15n) >= 5n) bcd += 3n << (4n * d);
    bcd = (bcd << 1n) | BigInt(bit);
    return bcd.toString(16).padStart(digits, '0');
  });
}

describe('numbers on a display', () => {
  it('when all 256 readings are shown raw then they read as Intl prints them', () => {
    const format = new Intl.NumberFormat('en-GB', { useGrouping: false });
    for (let n = 0; n < 256; n++) expect(show(n)).toBe(format.format(n).padStart(4));
  });

  it('when all 256 readings are shown signed then they read as an Int8Array holds them', () => {
    const format = new Intl.NumberFormat('en-GB', { useGrouping: false });
    for (let n = 0; n < 256; n++) {
      const [value] = Int8Array.of(n);
      expect(asSigned(n, 8)).toBe(value);
      expect(show(asSigned(n, 8))).toBe(format.format(value!).padStart(4));
    }
  });

  it('when double dabble runs on 11111111 then its trace is the published one, and it ends as the display does', () => {
    expect(doubleDabble('11111111', 3)).toEqual(['001', '003', '007', '015', '031', '063', '127', '255']);
    expect(doubleDabble('11110011', 3)).toEqual(['001', '003', '007', '015', '030', '060', '121', '243']);
    expect(doubleDabble((65244).toString(2), 5).at(-1)).toBe('65244');
  });

  it('when all 256 readings go through double dabble then the digits are those of the display with zeros shown', () => {
    for (let n = 0; n < 256; n++) {
      const bcd = doubleDabble(n.toString(2).padStart(8, '0'), 4).at(-1);
      expect(show(n, { leadingZeros: 'show' })).toBe(bcd);
    }
  });

  it('when all 65536 readings are shown in hexadecimal then they read as the language prints them', () => {
    for (let n = 0; n < 65536; n += 7) expect(show(n, { radix: 16 })).toBe(n.toString(16).toUpperCase().padStart(4));
  });

  it('when the minus is fixed then it stands leftmost and that place carries no digit in signed mode', () => {
    expect(show(-5, { minus: 'fixed' })).toBe('-  5');
    expect(show(5, { minus: 'fixed' }, 0, true)).toBe('   5');
    expect(showNumber(1000, true, 0, { ...rules, minus: 'fixed' }).overflowed).toBe(true);
    expect(show(1000, { minus: 'fixed' }, 0, false)).toBe('1000');
    expect(show(-5, { minus: 'fixed', leadingZeros: 'show' })).toBe('-005');
  });

  it('when zeros are shown then a floating minus stands before them', () => {
    expect(show(-5, { leadingZeros: 'show' })).toBe('-005');
    expect(show(5, { leadingZeros: 'show' })).toBe('0005');
  });

  it('when there are decimals then at least one digit stands before the point', () => {
    expect(show(5, {}, 1)).toBe('  0.5');
    expect(show(-5, {}, 1)).toBe(' -0.5');
    expect(show(1234, {}, 2)).toBe('12.34');
    expect(show(0, {}, 3)).toBe('0.000');
    expect(showNumber(0, false, 4, rules).overflowed).toBe(true);
  });

  it('when a number does not fit then what was asked for shows', () => {
    expect(show(12345, { overflow: { show: '----' } })).toBe('----');
    expect(show(12345, { overflow: { show: '' } })).toBe('    ');
    expect(show(12345, { overflow: 'low-digits' })).toBe('2345');
    expect(show(-1234, { overflow: 'low-digits' })).toBe('-234');
    expect(show(-1234, { overflow: { show: 'OL' } })).toBe('  OL');
    expect(showNumber(-999, true, 0, rules)).toMatchObject({ letters: '-999', overflowed: false });
    expect(showNumber(-1000, true, 0, rules).overflowed).toBe(true);
  });
});
