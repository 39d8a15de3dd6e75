// Rows of a store by address that differ on the chip, or of which the plan says nothing: what the builder is told.
import { describe, expect, it } from 'vitest';
import { compiled, fieldsOf } from './compiled.js';

const plan = `
kind: control-by-address
address: place
buses: { cord: {} }
word:
  show: { bits: 2, codes: { nobody: 0, height: { code: 1, drives: cord }, air: { code: 2, drives: cord } } }
  take: { bits: 1, codes: { nobody: 0, record: { code: 1, loads: cord } } }
  lamp: {}
  speak: { drives: cord }
  way: { bits: 2, codes: { on: { code: 0, goes: next }, by: { code: 1, goes: orders }, away: { code: 2, goes: elsewhere } } }
dispatch:
  orders: { by: command, to: { 1: begin } }
program: |
  origin 4
  late: lamp way=away
  origin 0
  begin: show=height take=record
         way=by
`;
const fields = fieldsOf({ place: 3, command: 1 });
const { table } = compiled(plan, fields);
const names = [...table.outputs.keys()];

/** What is said when the outputs in `change` were wanted as planned and read so. */
const said = (place: number, change: Record<string, number>, of = table): string => {
  const right = of.at([place, 0]);
  const wanted = names.map((name, i) => (name in change ? right[i] : undefined));
  return of.explainDifference!(
    [place, 0],
    wanted,
    names.map((name) => change[name]),
  );
};

describe('a row that differs', () => {
  it('when several fields differ then all are said in one sentence, each by its code or level', () => {
    expect(said(0, { take: 0, lamp: 1 })).toBe(
      'place 0 (begin): take=record is wanted, take=nobody is there; "lamp" should be off and is on.',
    );
    expect(said(4, { lamp: 0 })).toBe('place 4 (late): "lamp" should be on and is off.');
  });

  it('when what was read is right then nothing is said', () => {
    expect(said(0, { show: 1, take: 1, lamp: 0 })).toBe('');
    expect(said(0, { orders: 5 })).toBe('');
  });

  it('when only one bit of a dispatch was read then the whole address is told, and other dispatches are not', () => {
    const wanted = names.map((name) => (name === 'orders' ? 0 : undefined));
    const actual = names.map((name) => (name === 'orders' ? 4 : undefined));
    expect(table.explainDifference!([0, 1], wanted, actual)).toBe(
      'command=1: "orders" should lead to begin (0) and leads to late (4).',
    );
  });

  it('when the plan has that fault on the bus itself then the chip is not blamed for it', () => {
    const faulty = compiled(plan.replace('show=height take', 'show=height speak take'), fields).table;
    expect(said(0, { lamp: 1 }, faulty)).toBe('place 0 (begin): "lamp" should be off and is on.');
    expect(said(0, { take: 0 }, faulty)).not.toContain('So ');
  });
});

describe('places of which the plan says nothing', () => {
  it('when one is explained then that is said; where unused addresses hold something, what', () => {
    expect(table.explain([6, 0])).toBe('place 6: nothing is written here; command=0: orders anything');
    const filled = compiled(`${plan}unused: lamp way=away\n`, fields).table;
    expect(filled.explain([6, 0], new Set(['lamp']))).toBe('place 6, which no row uses: lamp way=away');
    expect(said(6, { lamp: 0 }, filled)).toBe('place 6: "lamp" should be on and is off.');
  });

  it('when the store is listed then its rows come by address, and what is not said is left out', () => {
    const whens = table.list().map((row) => row.when);
    expect(whens).toEqual(['begin', 'place 0', 'place 1', 'late', 'place 4', 'orders', 'command 1']);
  });

  it('when a row goes on to the next then that is told by its address', () => {
    expect(table.explain([0, 0], new Set(['show']))).toBe('place 0 (begin): show=height take=record; goes to 1');
    expect(table.explain([4, 0], new Set(['show']))).toContain('goes to elsewhere');
    expect(table.explain([1, 0], new Set(['show']))).toContain('goes to orders');
  });
});
