// Digits drawn as text: each segment at its own place, nothing else.
import { describe, expect, it } from 'vitest';
import { drawBeside, drawDigits, drawSegments } from '../../src/plan/segment-drawing.js';

describe('a digit', () => {
  it.each([
    ['a', 0x01, [' _  ', '    ', '    ']],
    ['b', 0x02, ['    ', '  | ', '    ']],
    ['c', 0x04, ['    ', '    ', '  | ']],
    ['d', 0x08, ['    ', '    ', ' _  ']],
    ['e', 0x10, ['    ', '    ', '|   ']],
    ['f', 0x20, ['    ', '|   ', '    ']],
    ['g', 0x40, ['    ', ' _  ', '    ']],
    ['the point', 0x80, ['    ', '    ', '   .']],
    ['everything', 0xff, [' _  ', '|_| ', '|_|.']],
    ['nothing', 0x00, ['    ', '    ', '    ']],
  ])('when %s is lit then it alone is drawn', (_, segments, drawn) => {
    expect(drawSegments(segments)).toEqual(drawn);
  });
});

describe('several digits', () => {
  it('when they stand side by side then a column is between them, and none behind the last', () => {
    expect(drawDigits([0x06, 0x7f])).toEqual(['      _', '  |  |_|', '  |  |_|']);
    expect(drawDigits([])).toEqual(['', '', '']);
  });

  it('when drawings have words above them then each word stands over its own', () => {
    const pictures = [
      { title: 'should be', digits: [0x7f] },
      { title: 'is', digits: [0x06, 0x06] },
    ];
    expect(drawBeside(pictures).split('\n')).toEqual([
      'should be    is',
      ' _',
      '|_|            |    |',
      '|_|            |    |',
    ]);
  });
});
