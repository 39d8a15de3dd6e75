// Small microprograms, each compiled by itself: what the store holds, where it goes, what explaining and listing say.
import { describe, expect, it } from 'vitest';
import type { Table } from '../../../src/plan/table.js';
import { compiled, compiledMaybe, fieldsOf } from './compiled.js';

interface Parts {
  /** One line a field. */
  readonly word?: string;
  readonly rest?: string;
  readonly program: string;
}

const fields = fieldsOf({
  place: 3,
  command: { bits: 1, names: { 1: 'look' } },
  gust: { bits: 1, names: { 1: 'gale' } },
});

const storeOf = ({ word = '', rest = '', program }: Parts) =>
  compiled(
    [
      'kind: control-by-address',
      'address: place',
      'buses: { cord: {} }',
      'word:',
      ...word.split('\n').map((line) => `  ${line}`),
      rest,
      'program: |',
      ...program.split('\n').map((line) => `  ${line}`),
    ].join('\n'),
    fields,
  );

const said = (parts: Parts): readonly string[] => storeOf(parts).findings.map((f) => `${f.code}: ${f.message}`);
const outputAt = (table: Table, name: string, ...inputs: number[]) =>
  table.at(inputs)[[...table.outputs.keys()].indexOf(name)];

/** What is said when each of these outputs was read as `change` has it, and no other was read. */
const difference = (
  table: Table,
  inputs: readonly number[],
  wanted: Record<string, number>,
  read: Record<string, number>,
) => {
  const names = [...table.outputs.keys()];
  return table.explainDifference!(
    inputs,
    names.map((name) => wanted[name]),
    names.map((name) => read[name]),
  );
};

const way =
  'way: { bits: 2, codes: { on: { code: 0, goes: next }, jump: { code: 1, goes: target }, by: { code: 2, goes: first }, by-gust: { code: 3, goes: second } } }';
const target = 'target: { bits: 3, holds: address }';
const dispatch = `dispatch:
  first: { by: command, codes: { stay: 0 }, to: { stay: begin, look: haul } }
  second: { by: gust, to: { gale: haul } }`;
const program = `begin: wind: way=by
haul: lamp=0 way=jump target=begin
      way=by-gust`;
const withTwoDispatches = {
  word: `${target}\n${way}\nlamp: { active: low }`,
  rest: `${dispatch}\nfollowing: after`,
  program,
};

describe('a store with two dispatch tables and the following address in it', () => {
  it('when compiled then each output is as wide as an address, and only the line that is active low is so', () => {
    const { table } = storeOf(withTwoDispatches);
    expect([...table.inputs.keys()]).toEqual(['place', 'command', 'gust']);
    expect([...table.outputs].slice(3)).toEqual([
      ['first', 3],
      ['second', 3],
      ['after', 3],
    ]);
    expect([...table.activeLow]).toEqual(['lamp']);
    expect(table.namesIn!('place')).toEqual([
      [0, 'begin'],
      [1, 'haul'],
    ]);
  });

  it('when a table leads somewhere then it goes by its own field, and the following address by the table of its row', () => {
    const { table } = storeOf(withTwoDispatches);
    const led = (name: string, ...inputs: number[]) => outputAt(table, name, ...inputs);
    expect([led('first', 0, 0, 1), led('first', 0, 1, 0)]).toEqual([0, 1]);
    expect([led('second', 0, 1, 0), led('second', 0, 0, 1)]).toEqual([undefined, 1]);
    expect([led('after', 0, 1, 0), led('after', 1, 1, 1), led('after', 2, 0, 1), led('after', 2, 1, 0)]).toEqual([
      1,
      0,
      1,
      undefined,
    ]);
    expect(led('after', 5, 1, 1)).toBe(undefined);
  });

  it('when only some outputs are asked for then each lead is said with what it depends on', () => {
    const { table } = storeOf(withTwoDispatches);
    expect(table.explain([0, 1, 1], new Set(['first', 'second', 'after']))).toBe(
      'command=look: first haul (1); gust=gale: second haul (1); place 0 (begin), command=look, gust=gale: after haul (1)',
    );
    expect(table.explain([2, 0, 0], new Set(['after']))).toBe(
      'place 2 (haul + 1), command=stay, gust=0: after anything',
    );
  });

  it('when a row sets a line to 0 then that is said', () => {
    expect(storeOf(withTwoDispatches).table.explain([1, 0, 0], new Set(['lamp']))).toBe(
      'place 1 (haul): target=begin (0) way=jump lamp=0; goes to begin (0)',
    );
  });

  it('when leads differ then each is told with where it should lead, and bits that were not read count as right', () => {
    const { table } = storeOf(withTwoDispatches);
    expect(difference(table, [0, 1, 1], { first: 1, second: 1, after: 1 }, { first: 3, second: 0, after: 5 })).toBe(
      [
        'command=look: "first" should lead to haul (1) and leads to 3.',
        'gust=gale: "second" should lead to haul (1) and leads to begin (0).',
        'place 0 (begin), command=look, gust=gale: "after" should lead to haul (1) and leads to 5.',
      ].join('\n'),
    );
    expect(difference(table, [0, 1, 1], { second: 1 }, { second: 1 })).toBe('');
    expect(difference(table, [0, 1, 1], { second: 0 }, { second: 2 })).toBe(
      'gust=gale: "second" should lead to haul (1) and leads to 3.',
    );
  });

  it('when bits differ of which the plan says nothing then that does no harm, and the line is not called wrong', () => {
    const { table } = storeOf(withTwoDispatches);
    expect(difference(table, [0, 0, 0], { second: 0 }, { second: 1 })).toBe(
      'gust=0: "second" may be anything here, so no harm is done.',
    );
    expect(difference(table, [5, 0, 0], { lamp: 0, way: 3 }, { lamp: 1, way: 0 })).toBe(
      'place 5: nothing is written here, so "way" and "lamp" may be anything, and no harm is done.',
    );
  });

  it('when listed then rows stand under the first of their labels, and dispatch tables behind them', () => {
    const rows = storeOf(withTwoDispatches).table.list();
    expect(rows.map(({ level, when, does }) => `${level} ${when}: ${does}`)).toEqual([
      '0 begin: ',
      '1 place 0: way=by',
      '0 haul: ',
      '1 place 1: target=begin (0) way=jump lamp=0',
      '1 place 2: way=by-gust',
      '0 first: ',
      '1 command stay: begin (0)',
      '1 command look: haul (1)',
      '0 second: ',
      '1 gust gale: haul (1)',
    ]);
  });
});

describe('a store without dispatch tables', () => {
  it('when the following address stands in it then the output is there', () => {
    const { table, findings } = storeOf({
      word: `${target}\nway: { bits: 1, codes: { on: { code: 0, goes: next }, jump: { code: 1, goes: target } } }\nlamp:`,
      rest: 'following: after',
      program: 'lamp\nway=jump target=0',
    });
    expect(findings).toEqual([]);
    expect([0, 1].map((place) => outputAt(table, 'after', place))).toEqual([1, 0]);
  });

  it('when its codes say nothing of where it goes then no row is said to be never reached or to have no end', () => {
    const parts = { word: 'lamp:\nbell: {}', program: 'begin: lamp bell\norigin 5\nlamp' };
    expect(said(parts)).toEqual([]);
    expect(storeOf(parts).table.explain([0])).toBe('place 0 (begin): lamp bell');
  });

  it('when unused addresses hold an empty row then every field has its default there', () => {
    const { table } = storeOf({ word: 'lamp:\npace: { bits: 2, default: 2 }', rest: 'unused: ""', program: 'lamp' });
    expect(table.at([6])).toEqual([0, 2]);
    const plain = storeOf({ word: 'lamp:', rest: 'unused: ""', program: 'lamp' }).table;
    expect(plain.explain([6])).toBe('place 6, which no row uses: nothing');
    expect(plain.list().at(-1)).toEqual({ level: 0, when: 'all other addresses', does: 'nothing' });
  });

  it('when a row must set a field and unused addresses do not then that is said of them', () => {
    const { findings } = storeOf({
      word: 'pace: { bits: 2, codes: { slow: 1 } }',
      rest: 'unused: ""',
      program: 'pace=slow',
    });
    expect(findings).toMatchObject([{ code: 'field.unset', path: ['unused'], within: { line: 0, column: 0 } }]);
  });

  it('when a value cannot be read then the rest of its row holds what it says, and the field 0', () => {
    const { table, findings } = storeOf({ word: 'lamp:\npace: { bits: 2, default: 2 }', program: 'lamp pace=fast' });
    expect(findings.map((f) => f.code)).toEqual(['code.unknown']);
    expect(table.at([0])).toEqual([1, 0]);
  });

  it('when the plan has no fields then none are known', () => {
    const { findings } = compiledMaybe(
      '{ kind: control-by-address, address: place, word: {}, program: "" }',
      fieldsOf({}),
    );
    expect(findings).toMatchObject([
      {
        code: 'field.unknown',
        message: 'There is no field "place".',
        why: 'Declare it under "fields"; the fields are none yet.',
        path: ['address'],
      },
    ]);
  });

  it('when a code drives and loads several buses then all of them count', () => {
    const word = 'show: { bits: 1, codes: { rest: 0, both: { code: 1, drives: [cord] } } }\nspeak: { drives: [cord] }';
    expect(said({ word, program: 'show=both speak' })).toContain(
      'bus.two-drivers: place 0: "show=both" and "speak" drive bus "cord" together.',
    );
  });

  it('when nothing is said of an undriven bus then loading from it is an error', () => {
    const { findings } = storeOf({ word: 'take: { loads: cord }', program: 'take' });
    expect(findings).toMatchObject([{ code: 'bus.nobody-drives', severity: 'error' }]);
  });
});

describe('where a row goes', () => {
  const codes = (text: string) => `${target}\nway: { bits: 2, codes: ${text} }`;

  it('when hardware outside decides in one row then every label can be met', () => {
    const word = codes(
      '{ on: { code: 0, goes: next }, back: { code: 1, goes: elsewhere }, either: { code: 2, goes: [next, elsewhere] }, home: { code: 3, goes: begin } }',
    );
    expect(said({ word, program: 'begin: way=back\nway=back\nfar: way=home' })).toEqual([
      'row.never: place 1 (begin + 1): this row is never reached.',
    ]);
    expect(said({ word, program: 'begin: way=either\nway=home\nfar: way=home' })).toEqual([]);
    expect(said({ word, program: 'begin: way=on\nway=home\nfar: way=home' })).toEqual([
      'row.never: place 2 (far): this row is never reached.',
    ]);
  });

  it('when a code rules a place out then it is left out, but not where no other is left', () => {
    const word = `${codes('{ on: { code: 0, goes: [target, next] } , only: { code: 1, goes: next } }')}\nsure: { bits: 1, codes: { no: 0, yes: { code: 1, never: next } } }`;
    expect(said({ word, program: 'begin: sure=yes target=begin\nfar: sure=yes target=begin' })).toEqual([
      'row.never: place 1 (far): this row is never reached.',
    ]);
    expect(said({ word, program: 'begin: sure=yes way=only\nfar: sure=yes target=begin' })).toEqual([]);
  });

  it('when values of a dispatch lead nowhere then only those that lead somewhere are followed', () => {
    const parts = { word: `${target}\n${way}`, rest: dispatch };
    expect(said({ ...parts, program: 'begin: way=by-gust\norigin 4\nhaul: way=by' })).toEqual([]);
  });

  it('when the start is given then rows are followed from there', () => {
    const word = codes('{ on: { code: 0, goes: next }, stay: { code: 1, goes: target } }');
    const program = 'early: way=stay target=here\nlate: way=stay target=here';
    expect(said({ word, program, rest: 'start: late' })).toEqual([
      'row.never: place 0 (early): this row is never reached.',
    ]);
    expect(said({ word, program })).toEqual(['row.never: place 1 (late): this row is never reached.']);
  });

  it('when a row goes nowhere or to several places then the following address has no value there, and why', () => {
    const word = codes('{ quiet: 0, both: { code: 1, goes: [next, target] }, stay: { code: 2, goes: target } }');
    const program = 'begin: way=both target=begin\nway=quiet\nway=stay target=here';
    const { table, findings } = storeOf({ word, program, rest: 'following: after' });
    expect(findings.filter((f) => f.code === 'following.unclear').map((f) => f.message)).toEqual([
      'place 0 (begin): this row goes to several places, so "after" has no value.',
      'place 1 (begin + 1): this row goes to no place, so "after" has no value.',
    ]);
    expect([0, 1, 2].map((place) => outputAt(table, 'after', place))).toEqual([undefined, undefined, 2]);
  });

  it('when a word for a place means nothing then the row goes nowhere', () => {
    const found = said({ word: codes('{ on: { code: 0, goes: nxt } }'), program: 'begin: way=on target=0' });
    expect(found.map((text) => text.split(':')[0])).toEqual(['goes.unknown', 'row.no-end']);
  });
});

describe('two labels with rows alike', () => {
  const word = `${target}\nlamp:\nway: { bits: 1, codes: { on: { code: 0, goes: next }, jump: { code: 1, goes: target } } }`;
  const same = (first: string, second: string) =>
    said({ word, program: `one: ${first}\ntwo: ${second}` }).filter((text) => text.startsWith('routine.same'));

  it.each([
    ['lamp target=next\n  way=jump target=one', 'lamp target=next\n  way=jump target=two'],
    ['lamp target=here\n  way=jump target=7', 'lamp target=here\n  way=jump target=7'],
  ])('when %j stands beside %j then they are said to be the same', (first, second) => {
    expect(same(first, second)).toEqual(['routine.same: "two" has the same rows as "one".']);
  });

  it.each([
    // One row alone is no routine.
    ['lamp way=jump target=7', 'lamp way=jump target=7'],
    // Each goes to another row of its own.
    ['lamp target=next\n  way=jump target=one', 'lamp target=next\n  way=jump target=here'],
    // Each goes to the place behind itself, which is another one.
    ['lamp target=next\n  way=jump target=2', 'lamp target=next\n  way=jump target=4'],
    ['lamp target=next\n  way=jump target=3', 'lamp target=next\n  way=jump target=5'],
  ])('when %j stands beside %j then they are not', (first, second) => {
    expect(same(first, second)).toEqual([]);
  });

  it('when the numbers of their rows only look alike written in a row then they are not the same', () => {
    const found = said({
      word: 'left: { bits: 5 }\nright: { bits: 5 }',
      program: 'one: left=2 right=1\n  left=11 right=2\ntwo: left=2 right=11\n  left=1 right=2',
    });
    expect(found).toEqual([]);
  });
});
