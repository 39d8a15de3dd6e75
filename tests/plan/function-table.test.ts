// Function plans against published codes and the language's own arithmetic.
import { describe, expect, it } from 'vitest';
import { ToolErrors } from '../../src/ground/errors.js';
import { meaningOf } from '../../src/plan/look.js';
import { buildPlan, listPlan, planOfObject, romOf } from '../../src/plan/plan.js';

type Setting = Record<string, number>;

const plan = (bits: Record<string, number>, outputs: Record<string, number>, at: unknown) => {
  let pin = 0;
  const pinsOf = (width: number): string[] => Array.from({ length: width }, () => `A${pin++}`);
  const address: Record<string, string[]> = Object.fromEntries(Object.entries(bits).map(([n, w]) => [n, pinsOf(w)]));
  let data = 0;
  const dataPins = Object.fromEntries(
    Object.entries(outputs).map(([n, w]) => [n, Array.from({ length: w }, () => `D${data++}`)]),
  );
  return planOfObject(
    {
      plan: 'f',
      fields: bits,
      contents: { kind: 'function', outputs, at },
      roms: {
        f: {
          chip: pin > 11 ? '28C256' : '28C16',
          address: { ...address, low: pinsOf((pin > 11 ? 15 : 11) - pin) },
          data: data < 8 ? { ...dataPins, unused: Array.from({ length: 8 - data }, () => `D${data++}`) } : dataPins,
        },
      },
    },
    'f.js',
  );
};

const bytes = (p: ReturnType<typeof plan>, count: number, mask = 0xff): number[] =>
  [...buildPlan(p)[0]!.image.bytes.slice(0, count)].map((b) => b & mask);

const mistakes = (make: () => unknown): string => {
  try {
    make();
  } catch (error) {
    if (error instanceof ToolErrors) return error.errors.map((e) => `${e.message} ${e.note}`).join('\n');
    throw error;
  }
  return '';
};

describe('function plans', () => {
  it('when Gray code is built then its 16 rows are those of the patent', () => {
    // Reflected Gray code: F. Gray, US patent 2 632 058 (1953); rows from memory, the rule n xor n >> 1 computed.
    const rows = '0000 0001 0011 0010 0110 0111 0101 0100 1100 1101 1111 1110 1010 1011 1001 1000'.split(' ');
    const gray = plan({ n: 4 }, { gray: 4 }, ({ n }: Setting) => n! ^ (n! >> 1));
    expect(bytes(gray, 16, 15)).toEqual(rows.map((r) => Number.parseInt(r, 2)));
  });

  it('when excess-3 is built then its ten rows are as published and the rest is not defined', () => {
    // Excess-3 for the digits 0 to 9 (from memory; common to all text books of digital logic).
    const rows = '0011 0100 0101 0110 0111 1000 1001 1010 1011 1100'.split(' ');
    const excess = plan({ digit: 4 }, { code: 4 }, ({ digit }: Setting) => (digit! < 10 ? digit! + 3 : undefined));
    expect(bytes(excess, 10, 15)).toEqual(rows.map((r) => Number.parseInt(r, 2)));
    expect([...buildPlan(excess)[0]!.image.defined.slice(0, 17)]).toEqual([...Array(10).fill(1), ...Array(7).fill(0)]);
  });

  it('when a multiplication table is built then every product is right', () => {
    const product = plan({ a: 4, b: 4 }, { product: 8 }, ({ a, b }: Setting) => ({ product: a! * b! }));
    expect(bytes(product, 256)).toEqual(Array.from({ length: 256 }, (_, i) => (i & 15) * (i >> 4)));
  });

  it('when a function gives several outputs then each goes to its own pins', () => {
    const split = plan({ n: 8 }, { low: 4, high: 4 }, ({ n }: Setting) => ({ high: n! >> 4, low: n! & 15 }));
    expect(bytes(split, 256)).toEqual(Array.from({ length: 256 }, (_, i) => i));
  });

  it('when a value does not fit, is no whole number, or the function throws then the setting is named', () => {
    expect(mistakes(() => plan({ n: 4 }, { y: 4 }, ({ n }: Setting) => n! * 2))).toMatch(/gives y 16 at n 8/);
    expect(mistakes(() => plan({ n: 4 }, { y: 4 }, ({ n }: Setting) => n! / 2))).toMatch(/gives y 0\.5 at n 1/);
    expect(mistakes(() => plan({ n: 4 }, { y: 4 }, () => -1))).toMatch(/gives y -1 at n 0/);
    expect(mistakes(() => plan({ n: 4 }, { y: 4, z: 4 }, () => 3))).toMatch(/one value for several outputs/);
    expect(mistakes(() => plan({ n: 4 }, { y: 4, z: 4 }, () => ({ y: 1, zz: 2 })))).toMatch(
      /gives "zz", which is no output/,
    );
    expect(mistakes(() => plan({ n: 4 }, { y: 4 }, async () => 1))).toMatch(/gives a promise/);
    expect(mistakes(() => plan({ n: 4 }, { y: 4 }, () => null))).toMatch(/gives y null/);
    expect(mistakes(() => plan({ n: 4 }, { y: 4 }, () => 'a'))).toMatch(/gives y a at n 0/);
    const throwing = (): number => {
      throw new RangeError('no such star');
    };
    expect(mistakes(() => plan({ n: 4 }, { y: 4 }, throwing))).toMatch(/throws "no such star" at n 0/);
  });

  it('when a function reads only some fields then the others do not make it larger', () => {
    const given: string[] = [];
    const value = {
      plan: 'r',
      fields: { a: 2, b: 24 },
      contents: {
        kind: 'function',
        outputs: { y: 2 },
        reads: ['a'],
        at: (s: Setting) => given.push(Object.keys(s).join()) && s.a,
      },
      roms: { r: { chip: '28C16', address: { a: 'A0 A1', low: 'A2..A10' }, data: { y: 'D0 D1', unused: 'D2..D7' } } },
    };
    planOfObject(value, 'r.js');
    expect(given).toEqual(['a', 'a', 'a', 'a']);
    const all = { ...value, contents: { ...value.contents, reads: undefined } };
    expect(mistakes(() => planOfObject(all, 'r.js'))).toMatch(/26 bits wide together/);
  });

  it('when a row is listed or explained then field and output are named', () => {
    const gray = plan({ n: 4 }, { gray: 4 }, ({ n }: Setting) => n! ^ (n! >> 1));
    expect(listPlan(gray)[10]).toEqual({ level: 0, when: 'n 10 (0xA)', does: 'gray 15 (0xF)' });
    expect(meaningOf(romOf(gray), 10)).toBe('n 10 (0xA): gray 15 (0xF)');
  });
});
