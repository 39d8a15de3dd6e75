// Inputs besides the address in a control store by microaddress: rows that ask, against a table written here by hand.
import { describe, expect, it } from 'vitest';
import { addressOf, buildPlan, checkPlan, describeDifference, listPlan, readPlan } from '../../../src/plan/plan.js';
import { inspectMarked } from './planted.js';

/** A sluice: its next row stands in the store, and the rows ask for the tide, which is signed, and for a key. */
const sluice = `plan: sluice
fields:
  row: 2
  tide: { bits: 2, signed: true, names: { ebb: -2 } }
  key: 1
contents:
  kind: control-by-address
  address: row
  inputs: [tide, key]
  word:
    gate: { bits: 2, codes: { rest: 0, up: 1, down: 2 } }
    bell.ring: {}
    way: { bits: 1, codes: { on: { code: 0, goes: next }, jump: { code: 1, goes: target } } }
    target: { bits: 2, holds: address }
  following: next-row
  program: |
    begin:  when key=0 do way=jump target=here        # waits for the key
            or when tide=ebb..-1 do gate=up way=jump target=open
            else bell.ring way=jump target=begin
    open:   when key=1 tide=0 do gate=down way=jump target=shut
            else way=jump target=here
    shut:   gate=down bell.ring way=jump target=last
    last:   when tide=-1..1 do way=jump target=begin
            or when key=0 do bell.ring way=jump target=open
            else way=jump target=here
roms:
  sluice:
    chip: 28C16
    address: { row: [A1, A0], tide: [A2, A3], key: A5, low: [A4, A6..A10] }
    data: { gate: [D0, D1], bell.ring: /D2, way: D3, target: [D4, D5], next-row: [D7, D6] }
`;

/** Worked out by hand from the rows above. */
function sluiceWord(row: number, tide: number, key: number): readonly [gate: number, bell: number, target: number] {
  if (row === 0) return key === 0 ? [0, 0, 0] : tide < 0 ? [1, 0, 1] : [0, 1, 0];
  if (row === 1) return key === 1 && tide === 0 ? [2, 0, 2] : [0, 0, 1];
  if (row === 2) return [2, 1, 3];
  if (tide >= -1) return [0, 0, 0];
  return key === 0 ? [0, 1, 1] : [0, 0, 3];
}

describe('when rows of a microprogram ask for inputs', () => {
  it('then every cell is that of the table written by hand', () => {
    const { bytes } = buildPlan(readPlan(sluice, 's.yaml'))[0]!.image;
    for (let row = 0; row < 4; row++)
      for (let tide = -2; tide < 2; tide++)
        for (let key = 0; key < 2; key++) {
          const [gate, bell, target] = sluiceWord(row, tide, key);
          const address = (row >> 1) | ((row & 1) << 1) | ((tide & 3) << 2) | (key << 5);
          const byte = gate | ((1 - bell) << 2) | 8 | (target << 4) | ((target & 1) << 7) | ((target >> 1) << 6);
          expect([row, tide, key, bytes[address]]).toEqual([row, tide, key, byte]);
        }
  });

  it('then nothing is wrong, and list and look say when what is done', () => {
    const plan = readPlan(sluice, 's.yaml');
    expect(checkPlan(plan).filter((f) => f.code !== 'input.idle')).toEqual([]);
    expect(listPlan(plan).map(({ when, does }) => `${when}: ${does}`)).toEqual([
      'begin: ',
      'row 0, key=0: way=jump target=begin (0)',
      expect.stringMatching(/^row 0, tide=(ebb|-1) key=1 or .*: gate=up way=jump target=open \(1\)$/),
      expect.stringContaining('bell.ring way=jump target=begin (0)'),
      'open: ',
      'row 1, tide=0 key=1: gate=down way=jump target=shut (2)',
      expect.stringContaining(': way=jump target=open (1)'),
      'shut: ',
      'row 2: gate=down bell.ring way=jump target=last (3)',
      'last: ',
      expect.stringContaining(': way=jump target=begin (0)'),
      'row 3, tide=ebb key=0: bell.ring way=jump target=open (1)',
      'row 3, tide=ebb key=1: way=jump target=last (3)',
    ]);
    const rom = plan.roms[0]!;
    const [address] = addressOf(plan, rom, ['row=open', 'tide=0', 'key=1']);
    const byte = buildPlan(plan)[0]!.image.bytes[address!]!;
    expect(describeDifference(rom, address!, byte, byte ^ 3)).toBe(
      'row 1 (open), tide=0 key=1: gate=down is wanted, gate=up is there.',
    );
  });

  it.each([
    [
      'else way=jump target=here\n    shut',
      'way=jump target=here\n    shut',
      'row.no-else',
      'Nothing says what this row does when tide=',
    ],
    ['else bell.ring', 'or when tide=ebb do bell.ring', 'case.never', 'This case is never chosen'],
    [
      'when key=1 tide=0',
      'when kay=1 tide=0',
      'field.unknown',
      '"kay" is no input of this control store (did you mean "key"?).',
    ],
    ['when key=1 tide=0', 'when key=1 tide=2', 'field.value', '2 is no value of the field "tide"'],
    ['when key=1 tide=0 do', 'when key=1 tide=0', 'row.wrong', 'a condition is written "when input=value do"'],
    ['shut:   gate=down', 'shut:   else gate=down', 'row.wrong', '"else" goes on with a row that begins with "when"'],
    ['inputs: [tide, key]', 'inputs: [tide, kay]', 'field.unknown', 'There is no field "kay"'],
    ['inputs: [tide, key]', 'inputs: [tide, row, key]', 'field.unknown', '"row" is the address itself.'],
  ])('and for "%s" stands "%s" then %s is said', (from, to, code, says) => {
    expect(sluice).toContain(from);
    const { findings } = inspectMarked(sluice.replace(from, to));
    const found = findings.filter((f) => f.code === code);
    expect(found.map((f) => f.message).join('\n')).toContain(says);
    expect(found[0]!.line).toBeGreaterThan(8);
  });
});
