import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { parseWiringFault, spellWiringFault, type WiringFault } from '../../src/chip/wiring-fault.js';
import { ToolError } from '../../src/ground/errors.js';

const line = fc.oneof(
  fc.integer({ min: 0, max: 23 }).map((n) => `A${n}` as const),
  fc.integer({ min: 0, max: 7 }).map((n) => `D${n}` as const),
);
const pair = fc
  .tuple(
    fc.constantFrom('A' as const, 'D' as const),
    fc.uniqueArray(fc.integer({ min: 0, max: 7 }), { minLength: 2, maxLength: 2 }),
  )
  .map(([letter, numbers]) => {
    const [low, high] = numbers.sort((a, b) => a - b);
    return [`${letter}${low!}`, `${letter}${high!}`] as const;
  });
const fault: fc.Arbitrary<WiringFault> = fc.oneof(
  fc.record({ kind: fc.constantFrom('open' as const, 'inverted' as const), line }),
  fc.record({ kind: fc.constant('stuck' as const), line, level: fc.constantFrom(0 as const, 1 as const) }),
  fc.record({ kind: fc.constant('crossed' as const), lines: pair }),
  fc.record({
    kind: fc.constant('shorted' as const),
    lines: pair,
    wins: fc.constantFrom('low' as const, 'high' as const),
  }),
);

describe('a wiring fault', () => {
  it('when it is spelled and read again, then it is the same fault', () => {
    fc.assert(
      fc.property(fault, (f) => {
        expect(parseWiringFault(spellWiringFault(f))).toEqual(f);
      }),
    );
  });

  it.each([
    ['A4 open', { kind: 'open', line: 'A4' }],
    ['d0 stuck 1', { kind: 'stuck', line: 'D0', level: 1 }],
    [' D3  inverted ', { kind: 'inverted', line: 'D3' }],
    ['A7 A4 crossed', { kind: 'crossed', lines: ['A4', 'A7'] }],
    ['D1 D2 shorted low', { kind: 'shorted', lines: ['D1', 'D2'], wins: 'low' }],
    ['A10 A9 shorted high', { kind: 'shorted', lines: ['A9', 'A10'], wins: 'high' }],
  ])('when it is written "%s", then it is read', (text, wanted) => {
    expect(parseWiringFault(text)).toEqual(wanted);
  });

  it.each([
    ['', 'does not begin with a line'],
    ['open A4', 'does not begin with a line'],
    ['A24 open', 'no line A24'],
    ['D8 open', 'no line D8'],
    ['A04 open', 'no line A04'],
    ['A4', 'no fault of one line'],
    ['A4 stuck', 'no fault of one line'],
    ['A4 stuck 2', 'no fault of one line'],
    ['A4 crossed', 'no fault of one line'],
    ['A4 A7', 'no fault of two lines'],
    ['A4 A7 open', 'no fault of two lines'],
    ['A4 A7 shorted', 'no fault of two lines'],
    ['A4 A4 crossed', 'names A4 twice'],
    ['A4 D4 crossed', 'joins an address line and a data line'],
    ['A1 A2 A3 crossed', 'more than two lines'],
    ['A4 crossed A7', 'does not begin with a line'],
  ])('when it is written "%s", then it is refused and the reason said', (text, reason) => {
    try {
      parseWiringFault(text);
      expect.unreachable();
    } catch (error) {
      expect(ToolError.is(error, 'chip.wiring-fault') && error.message).toContain(reason);
      expect(ToolError.is(error, 'chip.wiring-fault') && error.note).toContain('A4 A7 crossed');
    }
  });
});
