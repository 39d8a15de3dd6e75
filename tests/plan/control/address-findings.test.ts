// Every kind of mistake that `check` finds in a control store by microaddress, planted in a plan, with message and position.
import { describe, expect, it } from 'vitest';
import { inspectMarked, saidOf } from './planted.js';

interface Parts {
  readonly word?: string;
  readonly dispatch?: string;
  readonly extra?: string;
  readonly program: string;
  readonly bits?: number;
}

const planOf = ({ word = '', dispatch = '', extra = '', program, bits = 3 }: Parts): string => `
plan: planted
fields: { place: ${bits}, command: 1 }
contents:
  kind: control-by-address
  address: place
  buses: { cord: { undriven: unknown } }
  word:
    show: { bits: 2, codes: { nobody: 0, height: { code: 1, drives: cord }, air: { code: 2, drives: cord } } }
    take: { bits: 1, codes: { nobody: 0, record: { code: 1, loads: cord } } }
    lamp: {}
    way: { bits: 1, codes: { on: { code: 0, goes: next }, jump: { code: 1, goes: target } } }
    target: { bits: 3, holds: address }
${word}
${dispatch === '' ? '' : `  dispatch:\n${dispatch}`}
${extra}
  program: |
${program.replace(/^/gm, '    ')}
roms:
  only:
    chip: 28C16
    address: { place: [${Array.from({ length: bits }, (_, i) => `A${i}`).join(', ')}], low: [${Array.from({ length: 11 - bits }, (_, i) => `A${bits + i}`).join(', ')}] }
    data: { show: [D0, D1], take: D2, lamp: D3, way: D4, target: [D5, D6, D7] }
`;

const right = `begin: show=height take=record lamp
       way=jump target=begin`;

interface Planted extends Parts {
  readonly code: string;
  readonly says: string;
  readonly severity?: 'warning';
}

const planted: readonly (readonly [string, Planted])[] = [
  [
    'a jump has no target',
    {
      code: 'row.no-target',
      severity: 'warning',
      program: `${right.replace('lamp', 'lamp way=on')}\n»way=jump`.replace(
        '       way=jump target=begin',
        '       way=on',
      ),
      says: 'place 2 (begin + 2): this row goes to "target", and does not say which address that is.',
    },
  ],
  [
    'a jump goes to an address without a row, where unused ones do something',
    {
      code: 'row.into-unused',
      severity: 'warning',
      extra: '  unused: way=jump target=begin',
      program: `${right.replace('target=begin', 'target=next')}\n»lamp way=jump target=6`,
      says: 'place 2 (begin + 2): from here the store goes to address 6, which no row uses.',
    },
  ],
  [
    'the program runs off its end',
    {
      code: 'row.off-end',
      severity: 'warning',
      extra: '  unused: way=jump target=begin',
      program: `begin: way=jump target=7\norigin 7\n»lamp way=on`,
      says: 'place 7: from here the store goes on behind the last address, 7.',
    },
  ],
  [
    'a row stands where another stands',
    {
      code: 'address.twice',
      program: `${right}\norigin 1\n»lamp way=jump target=begin`,
      says: 'Address 1 already holds the row of line 19.',
    },
  ],
  [
    'an origin is beyond the last address',
    {
      code: 'address.beyond',
      program: `${right}\norigin »8`,
      says: 'The origin 8 is beyond the last address.',
    },
  ],
  [
    'rows run beyond the last address',
    {
      code: 'address.beyond',
      program: `${right}\norigin 7\nlamp way=jump target=begin\n»lamp way=jump target=begin`,
      says: 'This row would stand at address 8.',
    },
  ],
  [
    'a row at the last address says next',
    {
      code: 'address.beyond',
      program: `${right}\norigin 7\nlast: way=jump »target=next`,
      says: '"next" leads to address 8, beyond the last one, 7.',
    },
  ],
  [
    'a label is not there',
    {
      code: 'label.unknown',
      program: `${right}\n  lamp way=jump »target=begn`,
      says: 'There is no label "begn" (did you mean "begin"?).',
    },
  ],
  [
    'a label stands twice',
    {
      code: 'label.twice',
      program: `${right}\n»begin: lamp way=jump target=begin`,
      says: 'The label "begin" is there already, at address 0.',
    },
  ],
  [
    'a code belongs to another field',
    {
      code: 'code.unknown',
      program: `${right}\n  »show=record way=jump target=begin`,
      says: '"record" is no code of "show".',
    },
  ],
  [
    'two codes of one field stand in one row',
    {
      code: 'code.two-of-one',
      program: `${right}\n  show=height »show=air way=jump target=begin`,
      says: '"show=height" and "show=air" stand in one row.',
    },
  ],
  [
    'a field is not there',
    {
      code: 'line.unknown',
      program: `${right}\n  lamp »lump way=jump target=begin`,
      says: 'There is no field or line "lump" (did you mean "lamp"?).',
    },
  ],
  [
    'a field with codes stands alone',
    {
      code: 'field.no-value',
      program: `${right}\n  »show way=jump target=begin`,
      says: '"show" stands without a value.',
    },
  ],
  [
    'a number does not fit its field',
    {
      code: 'code.beyond',
      program: `${right}\n  »show=4 way=jump target=begin`,
      says: '4 does not fit "show".',
    },
  ],
  [
    'a code does not fit its field',
    {
      code: 'code.beyond',
      word: '    bell: { bits: 1, codes: { rest: 0, ring: »2 } }',
      program: right,
      says: 'The code 2 of "ring" does not fit "bell", which is 1 bit wide.',
    },
  ],
  [
    'two codes have one number',
    {
      code: 'code.twice',
      word: '    bell: { bits: 2, codes: { rest: 0, ring: 1, toll: »1 } }',
      program: right,
      says: '"ring" and "toll" of "bell" are both code 1.',
    },
  ],
  [
    'a line cannot be read',
    {
      code: 'row.wrong',
      program: `${right}\n  lamp »= way=jump`,
      says: 'This line cannot be read: a row is made of names of lines and of field=code, without spaces around the equals sign.',
    },
  ],
  [
    'a label has no row',
    {
      code: 'row.wrong',
      program: `${right}\n»end:`,
      says: 'This line cannot be read: the label "end" has no row after it.',
    },
  ],
  [
    'an origin is no number',
    {
      code: 'origin.wrong',
      program: `${right}\norigin »four`,
      says: '"four" is no address.',
    },
  ],
  [
    'a row leaves out a field that has no rest',
    {
      code: 'field.unset',
      word: '    bell: { bits: 2, codes: { ring: 1, toll: 2 } }',
      program: 'begin: bell=ring\n       »way=jump target=begin',
      says: 'This row does not set the field "bell".',
    },
  ],
  [
    'a field is loaded from a bus that nobody drives',
    {
      code: 'bus.nobody-drives',
      program: `${right}\norigin 4\n»take=record way=jump target=begin`,
      says: 'place 4: "take=record" loads from bus "cord", which nobody drives.',
    },
  ],
  [
    'two fields drive one bus',
    {
      code: 'bus.two-drivers',
      word: '    speak: { drives: cord }',
      program: `begin: »show=air speak take=record\n  way=jump target=begin`,
      says: 'place 0 (begin): "show=air" and "speak" drive bus "cord" together.',
    },
  ],
  [
    'a line is never used',
    {
      code: 'line.unused',
      severity: 'warning',
      word: '    »bell: {}',
      program: right,
      says: 'No row asserts the line "bell".',
    },
  ],
  [
    'a row is never reached',
    {
      code: 'row.never',
      severity: 'warning',
      program: `${right}\n  »lamp\n  way=jump target=begin`,
      says: 'place 2 (begin + 2): this row is never reached.',
    },
  ],
  [
    'a row goes where nothing is written',
    {
      code: 'row.into-nothing',
      program: `begin: way=jump target=end\nend:   »lamp`,
      says: 'place 1 (end): from here the store goes to address 2, where nothing is written.',
    },
  ],
  [
    'a code goes to no place',
    {
      code: 'goes.unknown',
      word: '    leap: { bits: 1, codes: { rest: 0, far: { code: 1, goes: »begni } } }',
      program: right,
      says: '"goes: begni" names no place (did you mean "begin"?).',
    },
  ],
  [
    'two routines are the same',
    {
      code: 'routine.same',
      severity: 'warning',
      program: `begin: way=jump target=one\none: lamp target=next\n     way=jump target=begin\ntwo: »lamp target=next\n     way=jump target=begin`,
      says: '"two" has the same rows as "one".',
    },
  ],
  [
    'a dispatch names one value twice',
    {
      code: 'opcode.twice',
      dispatch: '    first-row: { by: command, to: { 1: begin, »"0b1": begin } }',
      program: right,
      says: '"0b1" and "1" are the same value, 1, of "command".',
    },
  ],
  [
    'a dispatch leads to no label',
    {
      code: 'label.unknown',
      dispatch: '    first-row: { by: command, to: { 0: »bigin } }',
      program: right,
      says: 'There is no label "bigin" (did you mean "begin"?).',
    },
  ],
  [
    'a dispatch has the name of a field',
    {
      code: 'output.twice',
      dispatch: '    »lamp: { by: command, to: { 0: begin } }',
      program: right,
      says: 'There is an output "lamp" already.',
    },
  ],
  [
    'the following address depends on hardware',
    {
      code: 'following.unclear',
      extra: '  following: then',
      word: '    back: { bits: 1, codes: { rest: 0, home: { code: 1, goes: elsewhere } } }',
      program: `${right}\nend: »back=home way=jump target=begin`,
      says: 'place 2 (end): this row goes to several places, so "then" has no value.',
    },
  ],
];

describe('when a mistake is planted in a control store by microaddress', () => {
  it.each(planted)('and %s then check says so at its place', (_, { code, says, severity, ...parts }) => {
    const { findings, marks } = inspectMarked(planOf(parts));
    expect(saidOf(findings, code)).toEqual([`${marks[0]} ${says}`]);
    const finding = findings.find((f) => f.code === code)!;
    expect(finding.severity).toBe(severity ?? 'error');
    expect(finding.why).toMatch(/^.{15,}[.?]$/);
  });
});

describe('when a control store by microaddress is right', () => {
  it('then no error is found in it', () => {
    expect(inspectMarked(planOf({ program: right })).findings.filter((f) => f.severity === 'error')).toEqual([]);
  });

  it('and unused addresses hold a row then running into them is no mistake', () => {
    const program = 'begin: way=jump target=end\nend:   lamp';
    const extra = '  unused: way=jump target=begin';
    expect(saidOf(inspectMarked(planOf({ program, extra })).findings, 'row.into-nothing')).toEqual([]);
  });
});
