// Texts that are no plan for people are refused before they are parsed; at the bounds themselves they are still read.
import { describe, expect, it } from 'vitest';
import { controlRefusal, refusalOf } from '../../src/plan/hostile-text.js';

const deep = { message: 'The text is nested too deeply.', why: 'A plan nests at most 64 deep.' };
const module = (most: string): string =>
  `A plan has at most ${most}; a table this large is better written as a module with a function.`;
const marksAtMost = module('240000 words, signs and spaces, which is about 5000 rows of a table');

describe('the length of a plan', () => {
  it('when it has 512 KiB then it is read, and one more is too long', () => {
    const line = `# ${'x'.repeat(126)}\n`;
    const most = line.repeat(Math.ceil(524_288 / line.length)).slice(0, 524_288);
    expect(refusalOf(most)).toBeNull();
    expect(refusalOf(`${most}x`)).toEqual({
      at: 0,
      message: 'The plan is 524289 characters long.',
      why: module('524288 characters'),
    });
  });

  it('when it has more marks than a plan has then it is said where it goes too far', () => {
    const marks = (count: number): string => 'a: 1\n'.repeat(count);
    const found = refusalOf(marks(100_000));
    expect(found).toMatchObject({ message: 'The plan goes on for too long.', why: marksAtMost });
    expect(found!.at).toBeGreaterThan(120_000);
    expect(found!.at).toBeLessThan(500_000);
    expect(refusalOf(marks(26_000))).toBeNull();
    expect(refusalOf(marks(32_000))).toBeNull();
  });

  it('when marks are at the bound itself then it is read, and with one line more it is not', () => {
    // Seven lexemes a line, as the YAML library counts them: 34285 lines have the last that fit into 240,000.
    expect(refusalOf('a: 1\n'.repeat(34_285))).toBeNull();
    expect(refusalOf('a: 1\n'.repeat(34_286))).not.toBeNull();
  });
});

describe('a table of thousands of rows', () => {
  it('when it has 5000 then it is read', () => {
    const row = '    - { when: { number: 0x5A3 }, give: { lamp: 1, level: 0x7F } }\n';
    expect(refusalOf(`plan: x\nrows:\n${row.repeat(5000)}`)).toBeNull();
  });
});

describe('the depth of a plan', () => {
  const brackets = (open: string, close: string, count: number): string =>
    `a: ${open.repeat(count)}${close.repeat(count)}`;

  it.each([
    ['[', ']'],
    ['{', '}'],
  ])('when %s is open 64 times then it is read, and once more is too deep, at its place', (open, close) => {
    expect(refusalOf(brackets(open, close, 64))).toBeNull();
    expect(refusalOf(brackets(open, close, 65))).toEqual({ at: 3 + 64, ...deep });
  });

  it('when brackets are closed again then they do not add up, and closing ones alone count for nothing', () => {
    expect(refusalOf('a: [1]\n'.repeat(100))).toBeNull();
    expect(refusalOf('a: {b: 1}\n'.repeat(100))).toBeNull();
    expect(refusalOf(`a: ${']'.repeat(100)}`)).toBeNull();
    expect(refusalOf(`a: ]]]${'['.repeat(64)}`)).toBeNull();
    expect(refusalOf(`a: ]]]${'['.repeat(65)}`)).toEqual({ at: 6 + 64, ...deep });
    expect(refusalOf(`a: [[}}]]${'['.repeat(65)}`)).not.toBeNull();
  });

  it.each(['-', '?', ':'])(
    'when a line begins with 64 times "%s" then it is read, and once more is too deep',
    (mark) => {
      expect(refusalOf(`a: 1\n${`${mark} `.repeat(64)}x`)).toBeNull();
      expect(refusalOf(`a: 1\n${`${mark} `.repeat(65)}x`)).toEqual({ at: 5, ...deep });
      expect(refusalOf(`a: 1 ${mark.repeat(80)}`)).toBeNull();
    },
  );

  it('when a line is indented by 200 then it is read, and by one more it is too deep', () => {
    expect(refusalOf(`a:\n${' '.repeat(200)}x: 1`)).toBeNull();
    expect(refusalOf(`a:\n${' '.repeat(201)}x: 1`)).toEqual({ at: 3, ...deep });
  });
});

describe('control characters', () => {
  it('when there is one then it is named by its number, with its place', () => {
    expect(refusalOf('a: 1\nb: \u001b[31m')).toEqual({ at: 8, ...controlRefusal('\u001b') });
    expect(controlRefusal('\u0007')).toEqual({
      message: 'There is a character U+0007.',
      why: 'A plan is UTF-8 text without control characters.',
    });
    expect(refusalOf('a: 1\t\r\n')).toBeNull();
  });
});
