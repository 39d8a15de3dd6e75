// Settings, values and differences in the builder's words.
import { describe, expect, it } from 'vitest';
import { sayDifferences, sayField, sayNumber, sayOutputs, saySetting } from '../../src/plan/setting-words.js';
import { fieldsOf } from './control/compiled.js';

const fields = fieldsOf({ reading: 8, mode: { bits: 1, names: { 1: 'signed' } } });
const outputs = fieldsOf({ pump: 1, level: 4, horn: 1 });

describe('what is said', () => {
  it('of a number is both bases where they differ', () => {
    expect([0, 9, 10, 255].map(sayNumber)).toEqual(['0', '9', '10 (0xA)', '255 (0xFF)']);
  });

  it("of a field is its name with the builder's word for the value, else the number", () => {
    expect(sayField('mode', 1, fields)).toBe('mode signed');
    expect(sayField('mode', 0, fields)).toBe('mode 0');
    expect(sayField('reading', 37, fields)).toBe('reading 37 (0x25)');
    expect(sayField('elsewhere', 12, fields)).toBe('elsewhere 12 (0xC)');
  });

  it('of a setting is every input in order, a missing one as 0, and always where there is none', () => {
    expect(saySetting(['reading', 'mode'], [37, 1], fields)).toBe('reading 37 (0x25), mode signed');
    expect(saySetting(['reading', 'mode'], [3], fields)).toBe('reading 3, mode 0');
    expect(saySetting([], [], fields)).toBe('always');
  });

  it('of outputs is what is on, wide ones with their value, and what may be anything', () => {
    expect(sayOutputs(outputs, [1, 12, 0])).toBe('pump, level 12 (0xC)');
    expect(sayOutputs(outputs, [0, 0, undefined])).toBe("level 0, horn don't care");
    expect(sayOutputs(fieldsOf({ pump: 1 }), [0])).toBe('all outputs 0');
  });

  it('of a difference is what each output is and should be, and nothing of those alike or not known', () => {
    expect(sayDifferences(outputs, [1, 12, 0], [0, 3, 1])).toBe(
      'pump is off and should be on; level is 3 and should be 12 (0xC); horn is on and should be off',
    );
    expect(sayDifferences(outputs, [1, undefined, 0], [1, 3, 0])).toBe('');
    expect(sayDifferences(outputs, [1, 12, 0], [1, undefined, 0])).toBe('');
  });
});
