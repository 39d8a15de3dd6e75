import { expect, it } from 'vitest';
import { columns } from '../../src/report/columns.js';
import { listText } from '../../src/report/list-text.js';

it('when rows stand under a heading then each column is as wide as its widest cell, and no line ends in spaces', () => {
  const text = columns(
    ['part', 'size', 'note'],
    [
      ['AT28C16', '2', 'small'],
      ['X', '512', ''],
    ],
    ['left', 'right'],
  );
  expect(text).toBe('part     size  note\nAT28C16     2  small\nX         512\n');
});

it('when there are no rows then the heading stands alone', () => {
  expect(columns(['a', 'b'], [])).toBe('a  b\n');
});

it('when a row has fewer cells than the heading then the rest is empty', () => {
  expect(columns(['a', 'b'], [['1'], ['22', '3']])).toBe('a   b\n1\n22  3\n');
});

it('when a list has levels then they are indented, and what settings do stands in one column', () => {
  const rows = [
    { level: 0, when: 'mode raw', does: '' },
    { level: 1, when: 'n 5', does: 'reads 5' },
    { level: 1, when: 'n 10', does: 'reads 10' },
  ];
  expect(listText(rows)).toBe('mode raw\n  n 5   reads 5\n  n 10  reads 10\n');
  expect(listText([])).toBe('');
});

it('when one setting of a list is very long then it does not push all others to the right', () => {
  const long = 'x'.repeat(60);
  const rows = [
    { level: 0, when: long, does: 'far' },
    { level: 0, when: 'n 1', does: 'near' },
  ];
  expect(listText(rows)).toBe(`${long}  far\n${'n 1'.padEnd(40)}  near\n`);
});
