// Plans that are well written but too large, and any wiring at all: what is refused, and that the image follows the wires.
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { ToolErrors } from '../../src/ground/errors.js';
import { buildPlan, planOfObject } from '../../src/plan/plan.js';
import { inspected, planText, thrown } from './planted.js';

type Setting = Record<string, number>;

const said = (text: string): string =>
  inspected(text)
    .findings.map((f) => `${f.code}: ${f.message}`)
    .join('\n');

const table = (bits: number, rows: string[], outputs = '[lamp]'): string =>
  planText({
    fields: `fields: { number: ${bits} }`,
    contents: `contents:\n  kind: truth-table\n  outputs: ${outputs}\n  rows:\n${rows.map((r) => `    - ${r}`).join('\n')}`,
    address: '    address: { number: A0..A10 }',
    data: '    data: { lamp: D0, unused: D1..D7 }',
  });

describe('plans that are too large', () => {
  it('when the fields are wider than any chip then it is said', () => {
    expect(said(table(21, ['{ when: { number: 1 }, give: { lamp: 1 } }']))).toMatch(/contents\.too-wide: .*21 bits/);
    expect(said(planText({ fields: 'fields: { number: 24 }' }))).toMatch(/contents\.too-wide: .*24 bits/);
  });

  it('when rows match more settings than can be looked through then it is said', () => {
    const rows = Array.from({ length: 9 }, () => '{ when: { number: any }, give: { lamp: 1 } }');
    expect(said(table(18, rows))).toMatch(/contents\.too-wide: The rows match more than/);
  });

  it('when there are more outputs or ROMs than anyone wires then it is said', () => {
    const outputs = Array.from({ length: 65 }, (_, i) => `o${i}`);
    expect(said(table(11, ['{ when: {}, give: { o1: 1 } }'], `[${outputs.join(', ')}]`))).toMatch(/shape\.value/);
    const roms = Array.from({ length: 33 }, (_, i) => `  r${i}: {}`).join('\n');
    expect(said(`plan: x\nroms:\n${roms}`)).toMatch(/"roms" holds 33 ROMs/);
  });

  it('when banks are too large together then compiling stops', () => {
    const bank = (value: number): string =>
      `{ value: ${value}, contents: { kind: truth-table, outputs: [q, r, s, t, u], rows: [{ when: { number: 1 }, give: { q: 1 } }], default: { q: 0, r: 0, s: 0, t: 0, u: 0 } } }`;
    const text = planText({
      fields: 'fields: { number: 18, bank: 4 }',
      contents: `contents:\n  kind: banks\n  select: bank\n  banks:\n${Array.from({ length: 16 }, (_, i) => `    - ${bank(i)}`).join('\n')}`,
    });
    expect(said(text)).toMatch(/contents\.too-wide: The banks are too large together/);
  });

  it('when every word of a plan is wrong then no more is said than can be worked through', () => {
    const rows = Array.from({ length: 700 }, (_, i) => `{ when: { numbr${i}: 1 }, give: { lamb${i}: 1 } }`);
    expect(thrown(table(8, rows)).length).toBeLessThanOrEqual(250);
  });

  it('when disagreeing rows are very many then the first are said', () => {
    const rows = Array.from({ length: 400 }, (_, i) => `{ when: {}, give: { lamp: ${i % 2} } }`);
    expect(inspected(table(8, rows)).findings.filter((f) => f.code === 'row.overlap').length).toBeLessThanOrEqual(50);
  });
});

describe('any wiring', () => {
  const permutation = (letter: string, count: number): fc.Arbitrary<string[]> => {
    const pins = Array.from({ length: count }, (_, i) => `${letter}${i}`);
    return fc.shuffledSubarray(pins, { minLength: count, maxLength: count });
  };
  const index = (pin: string): number => Number(pin.replace(/\D/g, ''));

  it('when pins are permuted, tied and inverted at will then every cell holds what its pins say', () => {
    const wiring = fc.record({
      address: permutation('A', 11),
      data: permutation('D', 8),
      strokes: fc.array(fc.boolean(), { minLength: 8, maxLength: 8 }),
      tied: fc.integer({ min: 0, max: 4 }),
      levels: fc.array(fc.constantFrom('low', 'high', 'unused'), { minLength: 4, maxLength: 4 }),
    });
    const f = (n: number): number => (n * 37 + (n >> 3)) & 0xff;
    fc.assert(
      fc.property(wiring, ({ address, data, strokes, tied, levels }) => {
        const bits = 11 - tied;
        const lists: Record<string, string[]> = { n: address.slice(0, bits) };
        for (const [i, pin] of address.slice(bits).entries()) lists[levels[i]!] = [...(lists[levels[i]!] ?? []), pin];
        const plan = planOfObject(
          {
            plan: 'any',
            fields: { n: bits },
            contents: { kind: 'function', outputs: { y: 8 }, at: ({ n }: Setting) => f(n!) },
            roms: {
              r: { chip: '28C16', address: lists, data: { y: data.map((pin, i) => (strokes[i] ? `/${pin}` : pin)) } },
            },
          },
          'any.js',
        );
        const { bytes, defined } = buildPlan(plan)[0]!.image;
        for (let cell = 0; cell < 2048; cell++) {
          const level = (pin: string): number => (cell >> index(pin)) & 1;
          const met = !lists.low?.some((p) => level(p) === 1) && !lists.high?.some((p) => level(p) === 0);
          if (defined[cell] !== (met ? 1 : 0))
            expect.fail(`cell ${cell} is defined where no pin lets the circuit come, or not`);
          if (!met) continue;
          const n = lists.n!.reduce((value, pin, bit) => value | (level(pin) << bit), 0);
          const byte = data.reduce((b, pin, i) => b | ((((f(n) >> i) & 1) ^ (strokes[i] ? 1 : 0)) << index(pin)), 0);
          if (bytes[cell] !== byte) expect.fail(`cell ${cell} is ${bytes[cell]} and should be ${byte}`);
        }
      }),
      { numRuns: 30 },
    );
  });

  it('when any text is read as a plan then it is a plan or an error in words', () => {
    const words = fc.constantFrom(
      'plan',
      'fields',
      'roms',
      'contents',
      'kind',
      ':',
      ': ',
      '\n',
      '  ',
      '- ',
      '{',
      '}',
      '[',
      ']',
      ',',
      '&a ',
      '*a',
      '"',
      '|',
      '>',
      '#',
      'A0..A3',
      '28C16',
      '1',
      '!!x ',
      '\t',
      '%',
      '@',
      '?',
    );
    fc.assert(
      fc.property(fc.array(words, { maxLength: 60 }), (parts) => {
        try {
          thrown(parts.join(''));
        } catch (error) {
          expect(error).toBeInstanceOf(ToolErrors);
        }
      }),
      { numRuns: 500 },
    );
  });

  it('when any value is taken as a plan then it is a plan or an error in words', () => {
    const keys = fc.constantFrom(
      'plan',
      'fields',
      'roms',
      'contents',
      'fill',
      'chip',
      'address',
      'data',
      'kind',
      'rows',
      'outputs',
      'n',
      '__proto__',
    );
    const value = fc.letrec((tie) => ({
      leaf: fc.oneof(
        fc.constantFrom(
          'decimal-display',
          'truth-table',
          'function',
          'banks',
          'control-by-step',
          'control-by-address',
          '28C16',
          'A0..A10',
          'n',
        ),
        fc.integer(),
        fc.boolean(),
        fc.constant(null),
        fc.constant(undefined),
        fc.double(),
      ),
      tree: fc.oneof(
        { maxDepth: 5 },
        tie('leaf'),
        fc.dictionary(keys, tie('tree'), { maxKeys: 5 }),
        fc.array(tie('tree'), { maxLength: 4 }),
      ),
    })).tree;
    // A module may hand in objects that cannot even be spelled.
    for (const kind of [Object.create(null), Symbol('kind'), { toString: 0 }])
      expect(() => planOfObject({ contents: { kind } }, 'any.js')).toThrow(ToolErrors);
    fc.assert(
      fc.property(value, (any) => {
        try {
          planOfObject(any, 'any.js');
        } catch (error) {
          expect(error).toBeInstanceOf(ToolErrors);
        }
      }),
      { numRuns: 500 },
    );
  });
});
