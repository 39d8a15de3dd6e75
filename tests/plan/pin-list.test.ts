// Lists of pins and names of bits: as they are read from a plan, and as they are written back, as short as they can be.
import { describe, expect, it } from 'vitest';
import { countedRange, readBits, readPins, writePins } from '../../src/plan/pin-list.js';
import { pinListYaml } from '../../src/plan/pin-list-yaml.js';
import type { AddressPin, DataPin } from '../../src/plan/rom.js';

const high = (...pins: number[]) => pins.map((index) => ({ index, activeLow: false }));
const low = (...pins: number[]) => pins.map((index) => ({ index, activeLow: true }));
const unreadable = (text: string) => [{ unreadable: text }];

describe('a list of pins', () => {
  it.each([
    ['A3', high(3)],
    ['a12', high(12)],
    ['A0 A1', high(0, 1)],
    [' A0,  A1 ,A2 ', high(0, 1, 2)],
    ['A4..A7', high(4, 5, 6, 7)],
    ['A7..A4', high(7, 6, 5, 4)],
    ['A5..A5', high(5)],
    ['/A2', low(2)],
    ['/A2../A4', low(2, 3, 4)],
    ['/A2..A4', low(2, 3, 4)],
    ['A2../A4', unreadable('A2../A4')],
    ['A100', unreadable('A100')],
    ['xA1', unreadable('xA1')],
    ['A1x', unreadable('A1x')],
    ['D1', unreadable('D1')],
    ['A', unreadable('A')],
    ['', []],
  ])('when it is written %j then its pins are these', (written, pins) => {
    expect(readPins(written, 'A')).toEqual(pins);
  });

  it('when it is a list of texts then each is one entry, with or without blanks around', () => {
    expect(readPins([' D0 ', 'D2..D1', 'D3 D4'], 'D')).toEqual([...high(0, 2, 1), { unreadable: 'D3 D4' }]);
  });

  it.each([
    [0, 3, [0, 1, 2, 3]],
    [3, 0, [3, 2, 1, 0]],
    [2, 2, [2]],
  ])('when it counts from %i to %i then both ends are in', (first, last, numbers) => {
    expect(countedRange(first, last)).toEqual(numbers);
  });

  it.each([
    [[], ''],
    [['A3'], 'A3'],
    [['A3', 'A4'], 'A3, A4'],
    [['A3', 'A4', 'A5'], 'A3..A5'],
    [['A8', 'A9', 'A10', 'A11'], 'A8..A11'],
    [['A1', 'A0', 'A2', 'A3', 'A4', 'A9'], 'A1, A0, A2..A4, A9'],
    [['/D1', '/D2', '/D3'], '/D1..D3'],
    [['/D1', 'D2', 'D3'], '/D1, D2, D3'],
    [['A1', 'D2', 'D3', 'D4'], 'A1, D2..D4'],
  ])('when %j is written then neighbours are joined from three on', (pins, text) => {
    expect(writePins(pins)).toBe(text);
    const letter = text.includes('D') ? 'D' : 'A';
    if (!(text.includes('A') && text.includes('D')))
      expect(
        readPins(text, letter).map((p) => ('index' in p ? `${p.activeLow ? '/' : ''}${letter}${p.index}` : '')),
      ).toEqual(pins);
  });
});

describe('names of bits', () => {
  const widths = new Map([
    ['place', 2],
    ['next', 12],
    ['alu.add', 1],
    ['alu.1', 3],
  ]);

  it.each([
    ['place', 'place', [0, 1]],
    ['place.1', 'place', [1]],
    ['next.0..3', 'next', [0, 1, 2, 3]],
    ['next.11..10', 'next', [11, 10]],
    ['alu.add', 'alu.add', [0]],
    // A name with a dot in it is one name, where there is one.
    ['alu.1', 'alu.1', [0, 1, 2]],
    ['alu.1.2', 'alu.1', [2]],
    ['alu.add.0', 'alu.add', [0]],
    ['none', 'none', null],
    ['none.1', 'none', null],
    ['place.', 'place.', null],
    ['.1', '.1', null],
    ['place.100', 'place.100', null],
    ['place.1..100', 'place.1..100', null],
    ['place.1x', 'place.1x', null],
  ])('when %j is read then it names these', (reference, name, bits) => {
    expect(readBits(reference, widths)).toEqual({ name, inverted: false, bits });
    expect(readBits(`/${reference}`, widths)).toEqual({ name, inverted: true, bits });
  });
});

describe('pin lists as a plan writes them', () => {
  const field = (name: string, bit: number, inverted = false): AddressPin => ({
    kind: 'field',
    field: name,
    bit,
    inverted,
  });
  const address: AddressPin[] = [
    field('reading', 1),
    field('reading', 0),
    field('mode', 0, true),
    { kind: 'unused' } as AddressPin,
    { kind: 'tied', level: 1 } as unknown as AddressPin,
    { kind: 'tied', level: 0 } as unknown as AddressPin,
    field('step', 2),
    { kind: 'unused' } as AddressPin,
  ];
  const source = (output: string, bit: number, activeLow = false) => ({ output, bit, activeLow });
  const data = [
    [source('bus', 0)],
    [source('bus', 1)],
    [source('bus', 2)],
    [source('load', 0, true)],
    [],
    [source('wide', 3), source('twin', 0)],
    [source('twin', 0, true)],
    [source('bus', 1, true)],
  ] as unknown as DataPin[];

  it('when bits run from 0 up they are one list in their order, others are named one by one, and free pins have their word', () => {
    expect(pinListYaml(address, data)).toBe(
      [
        '    address:',
        '      reading: [A1, A0]',
        '      mode: /A2',
        '      unused: [A3, A7]',
        '      high: A4',
        '      low: A5',
        '      step.2: A6',
        '    data:',
        '      bus: [D0..D2]',
        '      load: /D3',
        '      unused: D4',
        '      wide.3: D5',
        '      twin: D5',
        '      twin.0..0: /D6',
        '      bus.1..1: /D7',
      ].join('\n'),
    );
    expect(pinListYaml([], [], '')).toBe('address:\n\ndata:\n');
  });
});
