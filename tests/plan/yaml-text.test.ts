// YAML from outside: positions are right, and hostile text is refused with an error, never with a crash or a hang.
import { describe, expect, it } from 'vitest';
import { ToolErrors } from '../../src/ground/errors.js';
import { readPlan } from '../../src/plan/plan.js';
import { readYaml } from '../../src/plan/yaml-text.js';

/** The errors that reading gives; fails where it gives none or throws anything else. */
function refused(text: string): string[] {
  try {
    readPlan(text, 'hostile.yaml');
  } catch (error) {
    if (!(error instanceof ToolErrors)) throw error;
    return error.errors.map((e) => e.message);
  }
  throw new Error('the text was taken for a plan');
}

const bomb = ['a0: &a0 [x, x, x, x, x, x, x, x, x]']
  .concat(Array.from({ length: 30 }, (_, i) => `a${i + 1}: &a${i + 1} [${Array(9).fill(`*a${i}`).join(', ')}]`))
  .join('\n');

describe('hostile YAML', () => {
  it.each([
    ['aliases that explode', bomb, /aliases/],
    ['an alias of itself', 'plan: &a [*a]', /plan/],
    ['an alias of nothing', 'plan: *nothing', /aliases|not YAML/],
    ['a 50 MB file', 'x'.repeat(50_000_000), /50000000 characters/],
    ['50 MB of brackets', '['.repeat(50_000_000), /characters long/],
    ['deep flow nesting', `a: ${'['.repeat(5000)}`, /nested too deeply/],
    ['deep flow maps', '{a: '.repeat(5000), /nested too deeply/],
    ['deep dashes on one line', '- '.repeat(5000), /nested too deeply/],
    ['deep questions on one line', '? '.repeat(5000), /nested too deeply/],
    ['deep indentation', Array.from({ length: 500 }, (_, i) => `${' '.repeat(i)}a:`).join('\n'), /nested too deeply/],
    ['a NUL byte', 'plan: a\u0000b', /U\+0000/],
    ['bytes that are no UTF-8', 'plan: \ufffd', /U\+FFFD/],
    ['a terminal code', 'plan: \u001b[2J', /U\+001B/],
    ['a terminal code spelled out', 'plan: "\\e[2J"', /U\+001B/],
    ['duplicate keys', 'plan: a\nfields: {}\nplan: b', /"plan" is written twice/],
    ['duplicate keys deep inside', 'plan: a\nfields: { n: { bits: 1, bits: 2 } }', /"bits" is written twice/],
    ['two documents', 'plan: a\n---\nplan: b', /not YAML/],
    ['a prototype as a key', '__proto__: { plan: x }\nplan: y', /__proto__/],
    ['a tag of code', 'plan: !!js/function "return 1"', /./],
    ['keys that are lists', '? [a, b]\n: 1', /./],
  ])('when it is %s then it is refused', (_, text, message) => {
    expect(refused(text).join('\n')).toMatch(message);
  });

  it('when a mistake is in the syntax then line and column are said', () => {
    expect(refused('plan: a\nfields: [1, 2\nroms: {}')[0]).toMatch(
      /^hostile\.yaml:2:9: A \[ is opened and not closed\./,
    );
    expect(refused('plan: a\nabout: b\u0007')[0]).toMatch(/^hostile\.yaml:2:9: /);
    expect(refused('plan: a\nfields: { n: 1 }\nplan: b')[0]).toMatch(/^hostile\.yaml:3:1: /);
    expect(refused('plan: a\nfields: { n: 1, "n": 2 }')[0]).toMatch(
      /^hostile\.yaml:2:17: The key "n" is written twice/,
    );
    expect(refused('plan: a\nabout: "b\\e[2J"')[0]).toMatch(/^hostile\.yaml:2:8: /);
    expect(refused('plan: a\nabout: *b')[0]).toMatch(/^hostile\.yaml:\d+:\d+: /);
  });

  it('when the library says what it found then it is one sentence, and what to look at', () => {
    const errors = ['a: b: c', 'a: @b', 'a: }', '- a\nb: c'].map((text) => refused(text)[0]!);
    for (const error of errors)
      expect(error).toMatch(/^hostile\.yaml:[12]:\d+: This is not YAML: [^\n]*[^.]\.( |$|\n)/);
    expect(refused('a: *b')[0]).toContain('Its aliases (*name) cannot be followed.');
  });

  it('when a text holds what no terminal acts on then it is taken', () => {
    expect(readYaml('about: "a\\tb\\nc\u00a0d"', 'x.yaml').value).toEqual({ about: 'a\tb\nc\u00a0d' });
    for (const code of ['\\0', '\\b', '\\v', '\\f', '\\r', '\\e', '\\x1f', '\\x7f', '\\x80', '\\x9f'])
      expect(() => readYaml(`about: "${code}"`, 'x.yaml')).toThrow(ToolErrors);
    expect(readYaml('', 'x.yaml').value).toBeNull();
    expect(readYaml('- 1\n- two', 'x.yaml').value).toEqual([1, 'two']);
  });

  it.each([
    ['keys written twice', 'a: 1'],
    ['terminal codes spelled out', '- "\\e"'],
  ])('when there are many %s then a screenful is said', (_, line) => {
    expect(refused(Array.from({ length: 500 }, () => line).join('\n'))).toHaveLength(20);
  });
});

describe('one mistake in the syntax', () => {
  const plan = [
    'plan: mast',
    'fields:',
    '  fog: 2',
    '  dusk: { bits: 1 }',
    'contents:',
    '  about: a text',
    '    that goes on',
    '  program: |',
    '    first  # and: more',
    '      second: [',
    '    third',
    'roms:',
    '  # a remark',
    '  - chip: 28C16',
    '    address:',
    '      fog: [A0,',
    '       A1]',
    '  - chip: "28C16: {"',
    '    data: D0',
  ];
  /** The plan with one line written otherwise. */
  const changed = (line: number, text: string): string => plan.with(line - 1, text).join('\n');

  it('when there is none then the plan is read', () => {
    expect(() => readYaml(plan.join('\n'), 'x.yaml')).not.toThrow();
  });

  it.each([
    [3, '   fog: 2', '4:3: This line is indented by 2 spaces, and the lines around it by 0 or 3.'],
    [4, '   dusk: { bits: 1 }', '4:4: This line is indented by 3 spaces, and the lines around it by 2.'],
    [4, ' dusk: { bits: 1 }', '4:2: This line is indented by 1 space, and the lines around it by 0 or 2.'],
    [4, '\tdusk: { bits: 1 }', '4:1: A tab stands in the indentation.'],
    [4, '  \tdusk: { bits: 1 }', '4:3: A tab stands in the indentation.'],
    [9, '      first', '11:5: This line is indented by 4 spaces, and the first line of its block by 6.'],
    [11, '   third', '11:4: This line is indented by 3 spaces, and the first line of its block by 4.'],
    [11, ' third: x', '11:2: This line is indented by 1 space, and the lines around it by 0 or 2.'],
    [15, '     address:', '15:6: This line is indented by 5 spaces, and the lines around it by 4.'],
    [15, '   address:', '15:4: This line is indented by 3 spaces, and the lines around it by 2 or 4.'],
    [18, '    - chip: 28C16', '18:1: An item of a list stands among the keys of a map.'],
    [18, ' - chip: 28C16', '18:2: This line is indented by 1 space, and the lines around it by 0 or 2.'],
    [17, '       A1', '16:12: A [ is opened and not closed.'],
    [4, '  dusk: { bits: 1', '4:9: A { is opened and not closed.'],
    [4, "  dusk: 'a", "4:9: A ' is opened and not closed."],
    [18, '  - chip: "28C16: {', '18:11: A " is opened and not closed.'],
    [3, '  fog 2', '3:3: A key is not followed by a colon.'],
    [3, '  fog:2', '3:3: A key is not followed by a colon.'],
  ])('when line %i is %j then one error names it', (line, text, said) => {
    const errors = refused(changed(line, text));
    expect(errors).toHaveLength(1);
    expect(errors[0]).toContain(`hostile.yaml:${said}`);
  });
});

describe('positions in YAML', () => {
  const text = [
    'plan: x',
    'deep:',
    '  list:',
    '    - one',
    '    - { key: value }',
    '  block: |',
    '    first',
    '    second line',
    'quoted: "text"',
  ].join('\n');
  const { value, positionOf } = readYaml(text, 'x.yaml');

  it('when a path is asked for then its value is found', () => {
    expect(value).toMatchObject({ deep: { list: ['one', { key: 'value' }] } });
    expect(positionOf(['deep', 'list', 0])).toEqual({ line: 4, column: 7 });
    expect(positionOf(['deep', 'list', 1, 'key'])).toEqual({ line: 5, column: 14 });
  });

  it('when the key is asked for then the key is found', () => {
    expect(positionOf(['deep', 'list', 1, 'key'], true)).toEqual({ line: 5, column: 9 });
    expect(positionOf(['deep'], true)).toEqual({ line: 2, column: 1 });
  });

  it('when a part is missing then the map that lacks it is found', () => {
    expect(positionOf(['deep', 'list', 1, 'other'])).toEqual({ line: 5, column: 7 });
    expect(positionOf([])).toEqual({ line: 1, column: 1 });
  });

  it('when a place inside a text is asked for then line and column count from its first character', () => {
    expect(positionOf(['deep', 'block'], false, { line: 1, column: 7 })).toEqual({ line: 8, column: 12 });
    expect(positionOf(['quoted'], false, { line: 0, column: 2 })).toEqual({ line: 9, column: 12 });
  });

  it('when a value stands behind an alias then its own place is found', () => {
    const aliased = readYaml('a: &pins [A0, A1]\nb: *pins', 'x.yaml');
    expect(aliased.positionOf(['b', 1])).toEqual({ line: 1, column: 15 });
  });

  it('when a text is folded then its first line stands below the sign, at its own indentation', () => {
    const folded = readYaml('a: >\n    one\n    two\nb: plain text', 'x.yaml');
    expect(folded.positionOf(['a'], false, { line: 0, column: 0 })).toEqual({ line: 2, column: 5 });
    expect(folded.positionOf(['a'], false, { line: 1, column: 2 })).toEqual({ line: 3, column: 7 });
    expect(folded.positionOf(['b'], false, { line: 0, column: 6 })).toEqual({ line: 4, column: 10 });
  });

  it('when a quoted text goes on over lines then places behind the first are shown at its start', () => {
    const quoted = readYaml("a: 'one\n  two'", 'x.yaml');
    expect(quoted.positionOf(['a'], false, { line: 0, column: 1 })).toEqual({ line: 1, column: 6 });
    expect(quoted.positionOf(['a'], false, { line: 1, column: 1 })).toEqual({ line: 1, column: 4 });
  });

  it('when a place is asked for inside what is no text then it is the place of the whole', () => {
    expect(positionOf(['deep', 'list'], false, { line: 1, column: 1 })).toEqual({ line: 4, column: 5 });
    expect(positionOf(['plan', 'deeper', 'still'])).toEqual({ line: 1, column: 7 });
    expect(positionOf(['deep', 'list', 7])).toEqual({ line: 4, column: 5 });
  });

  it('when a key has no value then the key is found', () => {
    const empty = readYaml('a:\n  b:\n  c: 1', 'x.yaml');
    expect(empty.positionOf(['a', 'b'], true)).toEqual({ line: 2, column: 3 });
    expect(readYaml('1: x\n2: y', 'x.yaml').positionOf([2])).toEqual({ line: 2, column: 4 });
  });
});
