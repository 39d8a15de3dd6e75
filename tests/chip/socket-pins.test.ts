import { describe, expect, it } from 'vitest';
import { findPart, parts } from '../../src/chip/chip-table.js';
import { socketPins } from '../../src/chip/socket-pins.js';

describe('the pins of a part', () => {
  it('when they are listed, then every line stands on exactly one pin and the supply is at opposite corners', () => {
    for (const part of parts) {
      const pins = socketPins(part);
      expect(pins.length, part.name).toBe(part.pins);
      const lines = pins.filter((p) => /^[AD]\d/.test(p));
      const wanted = [
        ...Array.from({ length: part.addressLines }, (_, i) => `A${i}`),
        ...Array.from({ length: 8 }, (_, i) => `D${i}`),
      ];
      expect([...lines].sort(), part.name).toEqual(wanted.sort());
      for (const control of ['/CE', '/OE', '/WE'] as const) {
        expect(pins.filter((p) => p === control).length, part.name).toBe(1);
      }
      expect(pins[part.pins / 2 - 1], part.name).toBe('GND');
      expect(pins[part.pins - 1], part.name).toBe('VCC');
    }
  });

  // Computed from the pin tables of Atmel AT28C16 Rev. 0540B-10/98 and Atmel AT28C256 Rev. 0006H-12/99.
  it('when a 24-pin part sits at the GND end of a 28-pin socket, then its supply meets A13 and its /WE meets A11', () => {
    const short = socketPins(findPart('AT28C16'));
    const long = socketPins(findPart('AT28C256'));
    expect(long[short.indexOf('VCC') + 2]).toBe('A13');
    expect(long[short.indexOf('/WE') + 2]).toBe('A11');
    expect(long[short.indexOf('GND') + 2]).toBe('GND');
  });
});
