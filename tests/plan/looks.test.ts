// One address of a ROM shown with every pin, the byte there and what it means; several tables as one list.
import { describe, expect, it } from 'vitest';
import { meaningOf } from '../../src/plan/look.js';
import {
  checkPlan,
  describeDifference,
  inspectPlan,
  listPlan,
  lookAt,
  planOfObject,
  readPlan,
  romOf,
  sayLooks,
} from '../../src/plan/plan.js';
import { planText } from './planted.js';

const table = (rows: readonly string[]): string =>
  `contents:\n  kind: truth-table\n  outputs: { lamp: 1, level: 2 }\n  rows:\n${rows.map((r) => `    - ${r}`).join('\n')}`;
const rows = [
  '{ when: { number: 0 }, give: { lamp: 0, level: 0 } }',
  '{ when: { number: 5 }, give: { lamp: 1, level: 2 } }',
];
const text = (rest = '', address = '    address: { number: A0..A3, unused: A4, high: A5, low: A6..A10 }'): string =>
  planText({ contents: table(rows), address, data: '    data: { lamp: /D0, level: [D1, D2], unused: D3..D7 }', rest });

const look = (address: number, rest = '') => {
  const plan = readPlan(text(rest), 'test.yaml');
  return lookAt(plan, romOf(plan), address);
};

describe('one address', () => {
  it('when the plan defines it then every pin, the byte and its meaning are told', () => {
    expect(sayLooks(look(0x25)).split('\n')).toEqual([
      'one (28C16), address 0x025: 0xFC (11111100)',
      expect.stringMatching(/^ {2}number 5\b.*lamp.*level/),
      '  A0=1 number.0  A1=0 number.1  A2=1 number.2  A3=0 number.3  A4=0 unused  A5=1 tied high  A6=0 tied low  A7=0 tied low  A8=0 tied low  A9=0 tied low  A10=0 tied low',
      '  D0=0 /lamp  D1=0 level.0  D2=1 level.1  D3=1 unused  D4=1 unused  D5=1 unused  D6=1 unused  D7=1 unused',
    ]);
    const { byte, reachable, display, dataPins, addressPins } = look(0x25);
    expect({ byte, reachable, display }).toEqual({ byte: 0xfc, reachable: true, display: null });
    expect(dataPins.map((p) => p.activeLow)).toEqual([true, ...new Array(7).fill(false)]);
    expect(addressPins.every((p) => !p.activeLow)).toBe(true);
  });

  it('when its byte is 00 then that is a byte', () => {
    const zero = planText({
      contents:
        'contents:\n  kind: truth-table\n  outputs: { bus: 8 }\n  rows:\n    - { when: { number: 5 }, give: { bus: 0 } }',
      data: '    data: { bus: D0..D7 }',
      rest: 'fill: 0xFF',
    });
    const plan = readPlan(zero, 'test.yaml');
    expect(sayLooks(lookAt(plan, romOf(plan), 5))).toContain('address 0x005: 0x00 (00000000)');
    expect(lookAt(plan, romOf(plan), 6).byte).toBe(0xff);
  });

  it('when the plan says nothing of it then its byte is not defined, or what fill says, and no data pin is shown', () => {
    const none = sayLooks(look(0x21)).split('\n');
    expect(none[0]).toBe('one (28C16), address 0x021: not defined');
    expect(none.length).toBe(3);
    expect(sayLooks(look(0x21, 'fill: 0x5A'))).toContain('address 0x021: 0x5A (01011010)\n');
    expect(sayLooks(look(0x21, 'fill: 0x5A'))).toContain('  D0=0 /lamp  D1=1 level.0');
  });

  it('when a tied pin keeps the circuit away then that is what it means, and what differs there', () => {
    const plan = readPlan(text(), 'test.yaml');
    const never = 'never read: a tied pin would need its other level';
    expect(look(0x05)).toMatchObject({ reachable: false, byte: null, meaning: never });
    expect(meaningOf(romOf(plan), 0x05)).toBe(never);
    expect(describeDifference(romOf(plan), 0x05, 1, 2)).toBe(never);
  });

  it('when pins differ that carry nothing then that is said', () => {
    const plan = readPlan(text(), 'test.yaml');
    expect(describeDifference(romOf(plan), 0x25, 0xfc, 0x7c)).toMatch(
      /^number 5.*; only data pins that carry nothing differ$/,
    );
    expect(describeDifference(romOf(plan), 0x25, 0xfc, 0xfd)).not.toContain('carry nothing');
  });

  it('when a display is driven then it is drawn under the pins, with no blanks at the ends of lines', () => {
    const plan = readPlan(planText({}), 'test.yaml');
    const lines = sayLooks(lookAt(plan, romOf(plan), 8)).split('\n');
    expect(lines.length).toBeGreaterThan(5);
    expect(lines.slice(4).every((line) => line === line.trimEnd() && (line === '' || line.startsWith('  ')))).toBe(
      true,
    );
    expect(lines.slice(4).join('')).toContain('|');
  });

  it.each([
    [2048, '0x800'],
    [-1, '-1'],
    [1.5, '1.5'],
    [0xabcd, '0xABCD'],
  ])('when the address is %d then it is refused as %s', (address, said) => {
    expect(() => look(address)).toThrow(`${said}`);
    expect(look(0).address).toBe(0);
    expect(look(2047).address).toBe(2047);
  });
});

describe('a plan of several ROMs', () => {
  const rom = (name: string, contents: string): string =>
    `  ${name}:\n    chip: 28C16\n    contents: ${contents}\n    address: { number: A0..A3, low: A4..A10 }\n    data: { a: D0, b: D1, c: D2, d: D3, e: D4, f: D5, g: D6, unused: D7 }`;
  const digits = (more: string): string => `{ kind: decimal-display, value: number, overflow: dashes${more} }`;
  const two = `plan: test\nfields: { number: 4 }\nroms:\n${rom('left', digits(''))}\n${rom('right', digits(', leading-zeros: show'))}`;

  it('when each has contents of its own then each list stands under its name, one level deeper', () => {
    const plan = readPlan(two, 'test.yaml');
    const list = listPlan(plan);
    const heads = list.filter((row) => row.level === 0);
    expect(heads).toEqual([
      { level: 0, when: 'left', does: '' },
      { level: 0, when: 'right', does: '' },
    ]);
    const own = plan.roms.map((r) => r.table.list());
    expect(list.length).toBe(2 + own[0]!.length + own[1]!.length);
    expect(list[1]).toEqual({ ...own[0]![0], level: own[0]![0]!.level + 1 });
  });

  it('when they share a table then it is listed once, without a name', () => {
    const shared = planText({}).replace(/ {2}one:\n([\s\S]*)$/, '  one:\n$1\n  two:\n$1');
    const plan = readPlan(shared, 'test.yaml');
    expect(plan.roms.length).toBe(2);
    expect(listPlan(plan)).toEqual(plan.roms[0]!.table.list());
  });

  it('when one is asked for by name, or must be, then that is told with the names there are', () => {
    const plan = readPlan(two, 'test.yaml');
    expect(romOf(plan, 'right').name).toBe('right');
    expect(() => romOf(plan)).toThrow(/describes 2 ROMs/);
    expect(() => romOf(plan, 'middle')).toThrow(/middle/);
    const one = readPlan(planText({}), 'test.yaml');
    expect(romOf(one).name).toBe('one');
    expect(romOf(one, 'one').name).toBe('one');
    expect(() => romOf(one, 'two')).toThrow(/two/);
  });
});

describe('findings', () => {
  it('when there are several then they come in the order of the text, each once', () => {
    const wrong = planText({
      fields: 'fields: { number: 4, extra: 1 }',
      address: '    address: { number: [A0, A1, A2, A2], low: [A4..A10], extra: A4 }',
    });
    const { findings } = inspectPlan(wrong, 'test.yaml');
    const places = findings.map((f) => [f.line ?? 0, f.column ?? 0]);
    expect(places.length).toBeGreaterThan(2);
    expect(places).toEqual([...places].sort((a, b) => a[0]! - b[0]! || a[1]! - b[1]!));
    const keys = findings.map((f) => `${f.code} ${f.where} ${f.message}`);
    expect(new Set(keys).size).toBe(keys.length);
  });

  it('when a plan comes from a module then the path stands for the place', () => {
    const plan = planOfObject(
      {
        plan: 'test',
        fields: { number: 4, spare: 1 },
        contents: { kind: 'decimal-display', value: 'number', overflow: 'dashes' },
        roms: {
          one: {
            chip: '28C16',
            address: { number: 'A0..A3', spare: 'A4', low: 'A5..A10' },
            data: { a: 'D0', b: 'D1', c: 'D2', d: 'D3', e: 'D4', f: 'D5', g: 'D6', unused: 'D7' },
          },
        },
      },
      'made.mjs',
    );
    expect(checkPlan(plan).find((f) => f.code === 'field.unread')).toMatchObject({
      line: null,
      column: null,
      where: 'fields.spare',
    });
  });

  it('when a name in it is very long then it is cut at a length that can be read', () => {
    const long = 'x'.repeat(3000);
    const { findings } = inspectPlan(planText({ contents: `contents: { kind: ${long} }` }), 'test.yaml');
    for (const f of findings)
      expect(Math.max(f.message.length, f.why.length, f.where.length)).toBeLessThanOrEqual(1003);
    expect(findings.some((f) => f.message.endsWith('...') || f.why.endsWith('...'))).toBe(true);
  });
});
