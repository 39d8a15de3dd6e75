// A control store by microaddress with one mistake in it: everything that check then says, with place, sentence and remedy.
import { describe, expect, it } from 'vitest';
import { inspectMarked } from './planted.js';

const store = `
plan: planted
fields: { place: 3, command: 1 }
contents:
  kind: control-by-address
  address: place
  buses: { cord: { undriven: 1 }, rail: {} }
  start: begin
  word:
    target: { bits: 3, holds: address }
    lamp:
    way: { bits: 2, codes: { on: { code: 0, goes: next }, jump: { code: 1, goes: target }, by: { code: 2, goes: orders }, quiet: 3 } }
    pace: { bits: 2 }
    show: { bits: 1, codes: { nobody: 0, height: { code: 1, drives: [cord, rail] } } }
    take: { bits: 2, codes: { nobody: 0, record: { code: 1, loads: cord }, radio: { code: 2, loads: rail } } }
  dispatch:
    orders: { by: command, to: { 0: begin, 1: begin } }
  program: |
    origin 2
    begin: lamp way=on
      middle: way=by
roms:
  only:
    chip: 28C16
    address: { place: A0..A2, command: A3, low: A4..A10 }
    data: { target: D0..D2, lamp: D3, way: D4..D5, show: D6, unused: D7 }
  other:
    chip: 28C16
    address: { place: A0..A2, command: A3, low: A4..A10 }
    data: { orders: D0..D2, take: D3..D4, pace: D5..D6, unused: D7 }
`;

type Planted = readonly [put: string, by: string, ...said: readonly string[]];

/** Everything found in the contents, as "code: message why", and its places; all in the order of the plan. */
const sayings = (plan: string): { said: readonly string[]; places: readonly string[]; marks: readonly string[] } => {
  const { findings: all, marks } = inspectMarked(plan);
  const findings = all.filter((f) => !/^(?:cell|input)\./.test(f.code));
  return {
    said: findings.map((f) => `${f.code}: ${f.message} ${f.why}`),
    places: findings.map((f) => `${f.line}:${f.column}`),
    marks,
  };
};

const rowForm = 'A row looks like this: label: field=code line next=label; an origin like this: origin 64.';
const reaches = 'The field "place" is 3 bits wide and reaches 0 to 7.';
const badRow =
  'row.wrong: This line cannot be read: a row is made of names of lines and of field=code, without spaces around the equals sign. ';
const origin =
  'row.wrong: This line cannot be read: "origin" takes one address, on a line of its own, as in origin 64. ';
const labelTwice = 'A label names one row, and "next" and "here" have a meaning.';
const places = 'It can be a label, or one of next, elsewhere, target, orders.';
const last = 'middle: way=by';

describe('a control store by microaddress', () => {
  it('when nothing is planted then nothing is found, with names alone, addresses from the start and comments', () => {
    expect(sayings(store).said).toEqual([]);
    expect(sayings(store.replace('origin 2', 'origin 2 # a comment\n    # another\n')).said).toEqual([]);
  });

  it.each<Planted>([
    [last, `${last}\n    origin »8`, `address.beyond: The origin 8 is beyond the last address. ${reaches}`],
    [last, `${last}\n    »origin`, origin + rowForm],
    [last, `${last}\n    »origin 5 6`, origin + rowForm],
    [last, `${last}\n    lamp »=by`, badRow + rowForm],
    [last, `${last}\n    lamp »show=`, badRow + rowForm],
    [last, `middle: way=on\n    »next: way=by`, `label.twice: "next" cannot be a label. ${labelTwice}`],
    [
      last,
      `middle: way=on\n      »begin: way=by`,
      `label.twice: The label "begin" is there already, at address 2. ${labelTwice}`,
    ],
    [
      last,
      `middle: way=on\n    middle-two:   »begin: way=by`,
      `label.twice: The label "begin" is there already, at address 2. ${labelTwice}`,
    ],
    [
      last,
      `middle: way=jump target=end\n    origin 7\n    end: way=jump target=begin\n    »way=jump target=begin`,
      `address.beyond: This row would stand at address 8. ${reaches}`,
    ],
    [
      last,
      'middle: way=by »pace=fast',
      'code.unknown: "fast" is no code of "pace". "pace" is 2 bits wide and takes 0 to 3.',
    ],
    [
      last,
      'middle: »pace way=by',
      'field.no-value: "pace" stands without a value. Only a line of one bit can stand alone; write pace=1.',
    ],
    [
      last,
      'middle: »show way=by',
      'field.no-value: "show" stands without a value. Only a line of one bit can stand alone; write show=nobody.',
    ],
    [
      'pace: { bits: 2 }',
      'pace: { bits: 2, default: »quick }',
      'code.unknown: The default of "pace": "quick" is no code of "pace". "pace" is 2 bits wide and takes 0 to 3.',
    ],
    [
      'pace: { bits: 2 }',
      'pace: { bits: 2, drives: »crod }',
      'bus.unknown: "pace" drives bus "crod", which "buses" does not name. The buses of this plan are "cord" and "rail".',
    ],
    [
      'loads: rail }',
      'loads: »rial }',
      'bus.unknown: "take=radio" loads bus "rial", which "buses" does not name. The buses of this plan are "cord" and "rail".',
    ],
    [
      'holds: address }',
      'holds: address, codes: »{ home: 0 } }',
      'field.mixed: The field "target" holds an address and has codes. An address has labels for its values; put the codes into a field of their own.',
    ],
    [
      '{ 0: begin, 1: begin }',
      '{ 0: begin, 1: begin, »look-2: begin }',
      'opcode.wrong: "look-2" is no value of the field "command", which is 1 bit wide: 0 to 1. On the left stands a value of the field, on the right a label.',
    ],
    [
      'quiet: 3 }',
      'quiet: »4 }',
      'code.beyond: The code 4 of "quiet" does not fit "way", which is 2 bits wide. It takes 0 to 3; give it more bits.',
    ],
    ['goes: next', 'goes: »[next, pace]', `goes.unknown: "goes: pace" names no place. ${places}`],
    [
      'goes: next',
      'goes: next, never: »nxt',
      `goes.unknown: "never: nxt" names no place (did you mean "next"?). ${places}`,
    ],
    [
      '  program',
      '  unused: »lump way=jump target=begin\n  program',
      'line.unknown: There is no field or line "lump" (did you mean "lamp"?). The fields of a row are declared under "word".',
    ],
    [
      '  program',
      '  unused: |\n    lamp way=jump target=begin\n    lamp\n  program',
      `row.wrong: What unused addresses hold cannot be read as a row. ${rowForm}`,
    ],
    [
      last,
      'middle: »way=by take=record',
      'bus.nobody-drives: place 3 (middle): "take=record" loads from bus "cord", which nobody drives. The plan says that this bus then reads 1 on every wire, so that is what gets loaded.',
    ],
    [
      last,
      'middle: »way=quiet',
      'row.no-end: place 3 (middle): nothing says where the store goes after this row. Set a code that says where it goes, or let one of the codes of this row say so.',
    ],
    [
      'way=on\n',
      'way=jump target=middle\n    after: »way=jump target=begin\n',
      'row.never: place 3 (after): this row is never reached. No row leads here, so it takes a place for nothing; a jump to it may be missing.',
    ],
    [
      '{ 0: begin, 1: begin }',
      '{ 0: 5, 1: 6 }',
      'row.into-nothing: place 3 (middle): from here the store goes to address 5 or 6, where nothing is written. What stands there is whatever the chip holds.',
    ],
  ])('when in place of %j stands %j then exactly that is said', (put, by, ...expected) => {
    expect(store.split(put)).toHaveLength(2);
    const { said, places: found, marks } = sayings(store.replace(put, by));
    expect(said).toEqual(expected);
    if (marks.length > 0) expect(found).toEqual(marks);
  });
});
