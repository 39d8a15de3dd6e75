import { describe, expect, it } from 'vitest';
import { findPart, parts } from '../../src/chip/chip-table.js';
import { encodeRequest } from '../../src/protocol/codec.js';
import { blockLimitMs, chipChoice } from '../../src/writer/chip-choice.js';

describe('what the writer is told about a part', () => {
  it('when the part has pages then size, page and window are the row, and the cycle has a margin', () => {
    // Microchip AT28C256, 6.14 Page Mode Characteristics: cycle 10 ms, byte load 150 us, page 64.
    expect(chipChoice(findPart('AT28C256'))).toEqual({
      cells: 32768,
      page: 64,
      cycleUs: 13000,
      windowUs: 150,
      poll: 'toggle',
      protection: 'codes',
    });
  });

  it('when the prefix is asked for then it is chosen, but not for a part without codes', () => {
    expect(chipChoice(findPart('AT28C256'), { protection: 'prefix' }).protection).toBe('prefix');
    expect(chipChoice(findPart('AT28C16')).protection).toBe('none');
    expect(() => chipChoice(findPart('AT28C16'), { protection: 'prefix' })).toThrow(
      'AT28C16 has no software data protection',
    );
  });

  it('when any part of the table is chosen then the request has a spelling', () => {
    for (const part of parts) expect(() => encodeRequest(1, { word: 'chip', ...chipChoice(part) })).not.toThrow();
  });

  it('when a block takes many cycles then its limit has them all', () => {
    const choice = chipChoice(findPart('AT28C16'));
    expect(blockLimitMs(choice, 64)).toBeGreaterThan((64 * choice.cycleUs) / 1000);
    const paged = chipChoice(findPart('AT28C256'));
    expect(blockLimitMs(paged, 64)).toBeLessThan(2 * (paged.cycleUs / 1000));
  });

  it("when the codes go before the block then its limit has their loads and the block's own: two windows and a cycle", () => {
    const prefixed = { ...chipChoice(findPart('AT28C256'), { protection: 'prefix' }), windowUs: 1000 };
    expect(blockLimitMs(prefixed, 64)).toBeGreaterThanOrEqual(prefixed.cycleUs / 1000 + 2);
  });
});
