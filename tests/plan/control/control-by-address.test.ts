// A control store by microaddress as a table: words, dispatch, and the builder's words for rows, differences and lists.
import { describe, expect, it } from 'vitest';
import { BankTable } from '../../../src/plan/bank-table.js';
import { compiled, compiledMaybe, fieldsOf } from './compiled.js';

const fields = fieldsOf({ place: 4, command: { bits: 2, names: { 1: 'haul' } } });

const plan = `
kind: control-by-address
address: place
buses: { cord: { undriven: 1 } }
word:
  show: { bits: 2, codes: { nobody: 0, height: { code: 1, drives: cord }, air: { code: 2, drives: cord } } }
  take: { bits: 2, codes: { radio: { code: 1, loads: cord }, nobody: 3 }, default: nobody }
  speak: { drives: cord, active: low }
  count: { bits: 3, default: 0b101 }
  way: { bits: 2, codes: { on: { code: 0, goes: next }, jump: { code: 1, goes: [target, next] }, by-command: { code: 2, goes: first-row } } }
  target: { bits: 4, holds: address, default: next }
dispatch:
  first-row: { by: command, to: { 0: begin, haul: haul }, otherwise: 0xF }
program: |
  begin:                          # a label may stand above its row
     show=height take=radio       # comments end a row
     way=by-command
  origin 0b110
  haul: wind: speak, count=2, way=jump, target=here
     way=jump target=begin
  origin 15
     way=jump target=haul
unused: way=jump target=begin
`;

const { table, findings } = compiled(plan, fields);
const outputs = [...table.outputs.keys()];
const at = (...inputs: number[]): Record<string, number | undefined> =>
  Object.fromEntries(table.at(inputs).map((value, i) => [outputs[i], value]));

describe('when a control store by microaddress is compiled', () => {
  it('then its inputs are the address and what dispatch goes by, and its outputs the fields and the dispatch', () => {
    expect([...table.inputs]).toEqual([
      ['place', 4],
      ['command', 2],
    ]);
    expect([...table.outputs]).toEqual([
      ['show', 2],
      ['take', 2],
      ['speak', 1],
      ['count', 3],
      ['way', 2],
      ['target', 4],
      ['first-row', 4],
    ]);
    expect([...table.activeLow]).toEqual(['speak']);
    expect(findings.map((f) => f.code)).toEqual(['row.into-unused', 'row.off-end']);
  });

  it('then rows hold what they say, and defaults elsewhere', () => {
    expect(at(0, 0)).toMatchObject({ show: 1, take: 1, speak: 0, count: 5, way: 0, target: 1 });
    expect(at(6, 0)).toMatchObject({ show: 0, take: 3, speak: 1, count: 2, way: 1, target: 6 });
    expect(at(15, 0)).toMatchObject({ way: 1, target: 6 });
  });

  it('then addresses that no row has hold the unused row', () => {
    for (const place of [2, 3, 4, 5, 8, 14]) expect(at(place, 0)).toMatchObject({ take: 3, way: 1, target: 0 });
  });

  it('then dispatch leads each value to its row, by number or by name', () => {
    expect([0, 1, 2, 3].map((command) => at(9, command)['first-row'])).toEqual([0, 6, 15, 15]);
  });
});

describe('when a row is explained', () => {
  it.each([
    [[0, 0], 'place 0 (begin): show=height take=radio count=5; goes to 1'],
    [[1, 0], 'place 1 (begin + 1): take=nobody count=5 way=by-command; goes to first-row'],
    [[6, 0], 'place 6 (haul): take=nobody speak count=2 way=jump target=haul (6); goes to haul (6) or 7'],
    [[3, 0], 'place 3, which no row uses: take=nobody count=5 way=jump target=begin (0)'],
  ])("then %j is said in the builder's words", (inputs, words) => {
    expect(table.explain(inputs, new Set(['show', 'way']))).toBe(words);
  });

  it('then a dispatch chip says where the value leads, and nothing of the rows', () => {
    expect(table.explain([0, 1], new Set(['first-row']))).toBe('command=haul: first-row haul (6)');
  });
});

describe('when a row differs', () => {
  const difference = (inputs: readonly number[], change: Record<string, number>): string => {
    const right = table.at(inputs);
    // Only the outputs that change are read back, as from one chip of several.
    const wanted = outputs.map((name, i) => (name in change ? right[i] : undefined));
    return table.explainDifference!(
      inputs,
      wanted,
      outputs.map((name) => change[name]),
    );
  };

  it.each([
    [
      { show: 3 },
      'place 0 (begin): show=height is wanted, show=3 is there.\n  So "take=radio" loads from bus "cord", which nobody drives.',
    ],
    [
      { speak: 1 },
      'place 0 (begin): "speak" should be off and is on.\n  So "show=height" and "speak" drive bus "cord" together.',
    ],
    [{ target: 6 }, 'place 0 (begin): target=1 is wanted, target=haul (6) is there.'],
    [{ 'first-row': 6 }, 'command=0: "first-row" should lead to begin (0) and leads to haul (6).'],
  ])("then %j is said in the builder's words", (change, words) => {
    expect(difference([0, 0], change)).toBe(words);
  });

  it('then a field whose bits stand on two chips is still called by its code', () => {
    // Bit 0 of "show" alone was read: 1 is wanted there, 0 came; bit 1 is taken to be right, so the code is 0.
    const wanted = outputs.map((name) => (name === 'show' ? 1 : undefined));
    const actual = outputs.map((name) => (name === 'show' ? 0 : undefined));
    expect(table.explainDifference!([0, 0], wanted, actual)).toContain('show=height is wanted, show=nobody is there');
  });
});

describe('when a control store by microaddress is listed', () => {
  it('then rows stand under their labels with what they set', () => {
    const rows = table
      .list()
      .map((row) => `${'  '.repeat(row.level)}${row.when}${row.does === '' ? '' : `: ${row.does}`}`);
    expect(rows).toEqual([
      'begin',
      '  place 0: show=height take=radio',
      '  place 1: way=by-command',
      'haul',
      '  place 6: speak count=2 way=jump target=haul (6)',
      '  place 7: way=jump target=begin (0)',
      '  place 15: way=jump target=haul (6)',
      'all other addresses: way=jump target=begin (0)',
      'first-row',
      '  command 0: begin (0)',
      '  command haul: haul (6)',
      '  command 2: 15',
      '  command 3: 15',
    ]);
  });
});

describe('when the fields of a microprogram cannot be found', () => {
  it.each([
    ['address: place', 'address: plaice', 'There is no field "plaice" (did you mean "place"?).'],
    ['by: command', 'by: comand', 'There is no field "comand" (did you mean "command"?).'],
    ['by: command', 'by: place', '"place" is the address itself.'],
  ])('and %s reads %s then that is said', (before, after, message) => {
    expect(compiledMaybe(plan.replace(before, after), fields).findings).toMatchObject([
      { code: 'field.unknown', message },
    ]);
  });

  it('and they are wider than any chip then the store is not laid out', () => {
    const wide = compiledMaybe(plan, fieldsOf({ place: 20, command: 3 }));
    expect(wide.table).toBe(null);
    expect(wide.findings).toMatchObject([{ code: 'contents.too-wide' }]);
  });
});

it('when it is one of several banks then a ROM that carries a part of the word is told what its own pins do', () => {
  const contents = { kind: 'banks' as const, select: 'half', banks: [{ value: 1, contents: plan }] };
  const bank = new BankTable(contents, fieldsOf({ half: 1, place: 4, command: 2 }), [table]);
  const dispatchAlone = new Set(['first-row']);
  expect(table.explain([0, 1], dispatchAlone)).not.toContain('show');
  expect(bank.explain([1, 0, 1], dispatchAlone)).toBe(`half 1: ${table.explain([0, 1], dispatchAlone)}`);
});
