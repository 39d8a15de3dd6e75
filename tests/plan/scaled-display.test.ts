// Numbers that a display scales, against published tables and against fractions worked out here anew.
import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { valuesAt } from '../../src/plan/addressing.js';
import { readDisplay } from '../../src/plan/display-reading.js';
import { digitsOf, type Rounding, readFraction } from '../../src/plan/display-scale.js';
import { addressOf, buildPlan, inspectPlan, listPlan, readPlan, romOf } from '../../src/plan/plan.js';

const thermometer = readPlan(readFileSync('images/skerry-thermometer.yaml', 'utf8'), 'skerry-thermometer.yaml');
const rom = romOf(thermometer);
const { image } = buildPlan(thermometer)[0]!;

/** What the display shows, read out of the image place by place, through the pins. */
const shown = (register: number | string, degrees: string): string => {
  const [address] = addressOf(thermometer, rom, [`register=${register}`, `degrees=${degrees}`, 'place=0']);
  return readDisplay(rom, valuesAt(rom, address!), (at) => image.bytes[at]!)!.text.trimStart();
};

/** The nearest whole number to a fraction, halves away from zero, worked out from the remainder. */
const nearest = (over: bigint, under: bigint): bigint => {
  const size = over < 0n ? -over : over;
  const whole = size / under + ((size % under) * 2n >= under ? 1n : 0n);
  return over < 0n ? -whole : whole;
};

/** A number of tenths as people write it. */
const tenths = (n: bigint): string => {
  const digits = (n < 0n ? -n : n).toString().padStart(2, '0');
  return `${n < 0n ? '-' : ''}${digits.slice(0, -1)}.${digits.slice(-1)}`;
};

describe('the thermometer', () => {
  // STMicroelectronics STLM75, Doc ID 13296 Rev 12, table 3: relationship between temperature and digital output.
  it.each([
    ['0x0FA', '125.0C'],
    ['0x032', '25.0C'],
    ['0x001', '0.5C'],
    ['0x000', '0.0C'],
    ['0x1FF', '-0.5C'],
    ['0x1CE', '-25.0C'],
    ['0x1B0', '-40.0C'],
    ['0x192', '-55.0C'],
  ])('when the register holds %s then the display reads %s, as the data sheet has it', (register, text) => {
    expect(shown(register, 'celsius')).toBe(text);
  });

  // The definition of the Fahrenheit scale, F = C x 9/5 + 32 (NIST SP 811, appendix B.8); the ends of the range by hand.
  it.each([
    [-80, '-40F'],
    [0, '32F'],
    [200, '212F'],
    [250, '257F'],
    [-110, '-67F'],
    [50, '77F'],
  ])('when it holds %d half degrees then the display reads %s in Fahrenheit', (register, text) => {
    expect(shown(register, 'fahrenheit')).toBe(text);
  });

  it('when a value lies half way between two then it is rounded away from zero, below zero too', () => {
    // 2.5 C = 36.5 F, -2.5 C = 27.5 F, -22.5 C = -8.5 F, -17.5 C = 0.5 F.
    expect([5, -5, -45, -35].map((n) => shown(n, 'fahrenheit'))).toEqual(['37F', '28F', '-9F', '1F']);
  });

  it('when all 512 values are read out of the image in both scales then each is what fractions make of it', () => {
    for (let register = -256; register <= 255; register++) {
      const n = BigInt(register);
      const inRange = register >= -110 && register <= 250;
      expect(shown(register, 'celsius'), `${register} C`).toBe(inRange ? `${tenths(n * 5n)}C` : '-----');
      expect(shown(register, 'fahrenheit'), `${register} F`).toBe(
        inRange ? `${nearest(n * 9n + 320n, 10n)}F` : '-----',
      );
    }
  });

  it('when the counter is at a place that it never has then the cell stays erased, and the others are told', () => {
    expect(listPlan(thermometer).length).toBe(1024);
    for (const place of [5, 6, 7]) expect(() => addressOf(thermometer, rom, [`place=${place}`])).toThrow('is no value');
    expect(image.bytes.filter((byte) => byte !== 0xff).length).toBeGreaterThan(1500);
  });
});

describe('a scale', () => {
  const fraction = (text: string | number) => readFraction(text)!;
  const digits = (value: number, scale: string, offset: string, decimals: number, round: Rounding = 'half-away') =>
    digitsOf(value, { scale: fraction(scale), offset: fraction(offset), decimals }, 10, round);

  // ITS-90 (Metrologia 27, 1990, table 1): freezing points of silver, gold and copper, in hundredths of a degree.
  it.each([
    [96178, 176320n],
    [106418, 194752n],
    [108462, 198432n],
  ])('when %d hundredths of a degree Celsius go to Fahrenheit then they are %d hundredths', (celsius, fahrenheit) => {
    expect(digits(celsius, '9/500', '32', 2)).toBe(fahrenheit);
    expect(nearest(BigInt(celsius) * 9n * 100n + 32n * 500n * 100n, 500n)).toBe(fahrenheit);
  });

  it.each<[string | number, [number, number] | null]>([
    ['9/5', [9, 5]],
    ['-0.5', [-5, 10]],
    ['1.8/2.5', [180, 250]],
    [0.1, [1, 10]],
    [-32, [-32, 1]],
    ['1/0', null],
    ['1e3', null],
    ['9:5', null],
    ['', null],
    ['1/-2', null],
    ['9'.repeat(31), null],
  ])('when it is written %s then it is that fraction', (text, expected) => {
    const read = readFraction(text);
    if (expected === null) expect(read).toBeNull();
    else expect(read!.over * BigInt(expected[1])).toBe(read!.under * BigInt(expected[0]));
  });

  it('when no floating-point number could hold the sum then it is exact all the same', () => {
    expect(digits(1, '1/3', '9007199254740993', 15)).toBe(9007199254740993333333333333333n);
    // 0.1 + 0.2 is not 0.3 in floating point; here the half is met exactly.
    expect(digits(1, '0.1', '0.25', 1)).toBe(4n);
  });

  it.each<[Rounding, bigint[]]>([
    ['half-away', [-3n, -2n, -1n, -1n, 0n, 1n, 1n, 2n, 3n]],
    ['half-even', [-2n, -2n, -1n, 0n, 0n, 0n, 1n, 2n, 2n]],
    ['to-zero', [-2n, -1n, -1n, 0n, 0n, 0n, 1n, 1n, 2n]],
    ['down', [-3n, -2n, -1n, -1n, 0n, 0n, 1n, 1n, 2n]],
    ['up', [-2n, -1n, -1n, 0n, 0n, 1n, 1n, 2n, 3n]],
  ])('when it rounds %s then halves and the rest go where the name says', (round, expected) => {
    // IEEE 754-2008, 4.3: the five directions; -2.5, -1.5, -1, -0.5, 0, 0.5, 1, 1.5, 2.5.
    expect([-5, -3, -2, -1, 0, 1, 2, 3, 5].map((n) => digits(n, '1/2', '0', 0, round))).toEqual(expected);
  });
});

const text = (contents: string, fields = 'level: 8, place: { bits: 2, scanned: true }, feet: 1'): string =>
  `plan: gauge
fields: { ${fields} }
contents: { kind: decimal-display, value: level, place: place, ${contents} }
roms:
  one: { chip: 28C16, address: { level: A0..A7, place: A8..A9, feet: A10 }, data: { a: D0, b: D1, c: D2, d: D3, e: D4, f: D5, g: D6, point: D7 } }
`;
const rowsOf = (contents: string, fields?: string): string[] =>
  listPlan(readPlan(text(contents, fields), 'gauge.yaml')).map((row) => row.does);
const found = (contents: string, fields?: string): string[] =>
  inspectPlan(text(contents, fields), 'gauge.yaml')
    .findings.filter((f) => f.severity === 'error' || f.code.startsWith('display.'))
    .map((f) => `${f.where} ${f.code}: ${f.message} ${f.why}`);

describe('what a display shows of a scaled number', () => {
  it('when there is no scale then the last digit counts the value, and an offset is in whole units', () => {
    expect(rowsOf('decimals: 1')[37]).toBe('"  3.7"');
    expect(rowsOf('decimals: 1, offset: 10')[37]).toBe('" 13.7"');
    expect(rowsOf('decimals: 1, scale: 1/10, offset: 10')).toEqual(rowsOf('decimals: 1, offset: 10'));
    expect(rowsOf('scale: 1')).toEqual(rowsOf('leading-zeros: blank'));
  });

  it('when a small negative number is rounded to nothing then it has no minus', () => {
    const rows = rowsOf('scale: 1/100, offset: -1, decimals: 1');
    expect([94, 95, 96, 100, 105, 106].map((n) => rows[n])).toEqual([
      '" -0.1"',
      '" -0.1"',
      '"  0.0"',
      '"  0.0"',
      '"  0.1"',
      '"  0.1"',
    ]);
  });

  it('when an offset or a scale below 0 can make it negative then a fixed minus keeps its place', () => {
    for (const scaled of ['offset: -300', 'scale: -1']) {
      const rows = rowsOf(`${scaled}, minus: fixed, overflow: dashes`);
      expect(rows[5]).toBe(scaled.startsWith('off') ? '"-295"' : '"-  5"');
    }
    expect(rowsOf('offset: -100, minus: fixed, overflow: dashes')[155]).toBe('"  55"');
    expect(rowsOf('offset: 900, minus: fixed, overflow: dashes')[155]).toBe('"1055"');
  });

  it('when a field chooses then each of its values has its own, and its unit takes the last places', () => {
    const rows = rowsOf('scale: { by: feet, to: { 0: 1/10, 1: 0.328 } }, unit: { by: feet, to: { 0: "", 1: F } }');
    // The value counts fastest, then the field that chooses.
    expect([rows[45], rows[44], rows[256 + 100], rows[256]]).toEqual(['"   5"', '"   4"', '" 33F"', '"  0F"']);
  });

  it('when the radix is 16 then a scale works in it', () => {
    expect(rowsOf('radix: 16, scale: 1/16, decimals: 1')[0x5a]).toBe('"  5.A"');
  });

  it('when it does not fit then low digits keep the unit, and a text takes the whole display', () => {
    expect(rowsOf('scale: 10, unit: L, overflow: low-digits')[255]).toBe('"550L"');
    expect(rowsOf('scale: 10, unit: L, overflow: { show: OL }')[255]).toBe('"  OL"');
    expect(found('scale: 10, unit: L')).toEqual([
      'contents display.overflow: The value 1000 does not fit in 3 places, and the plan does not say what shows then. Add "overflow: dashes", blank, low-digits or { show: "OL" }, or wire more places.',
    ]);
  });
});

describe('texts in place of the number', () => {
  it('when a row matches then its text shows, and the first of several', () => {
    const rows = rowsOf(
      'texts: [{ when: { level: 250..255, feet: 1 }, show: Hi }, { when: { level: [0, 255] }, show: LO }]',
    );
    expect([rows[255], rows[256 + 255], rows[256 + 250], rows[250], rows[0], rows[256]]).toEqual([
      '"  LO"',
      '"  HI"',
      '"  HI"',
      '" 250"',
      '"  LO"',
      '"  LO"',
    ]);
  });

  it('when texts cover what would not fit then no overflow is missed', () => {
    expect(found('scale: 100, texts: [{ when: { level: 100..255 }, show: "----" }]')).toEqual([]);
  });

  it('when a text never shows, is too long or has a letter without a look then that is told', () => {
    const never = 'texts: [{ when: { level: 1..9 }, show: LO }, { when: { level: 3 }, show: HI }]';
    expect(found(never)).toEqual([
      'contents.texts.1 display.silent-text: The text "HI" never shows. Texts before it match wherever it does: the first that matches shows.',
    ]);
    expect(found('texts: [{ when: { level: 3 }, show: OPEN5 }]')[0]).toMatch(
      /texts\.0\.show display\.text: The text "OPEN5" has 5 letters, and the display has 4 places/,
    );
    expect(found('texts: [{ when: { level: 3 }, show: "WE" }]')[0]).toMatch(/no glyph for "W", which shows in a text/);
    expect(found('texts: [{ when: { levl: 3 }, show: "HI" }]')[0]).toMatch(/no field "levl".*Did you mean "level"/);
  });

  it('when a text, a scale or a unit hangs on the place then that cannot be', () => {
    const why = 'The field "place" chooses the digit, and cannot choose what the display shows.';
    expect(found('texts: [{ when: { place: 0 }, show: HI }]')[0]).toContain(why);
    expect(found('scale: { by: place, to: { 0..3: 2 } }')[0]).toContain(why);
  });
});

describe('what is wrong with a scale', () => {
  it.each([
    ['scale: 9:5', 'contents.scale display.fraction: "9:5" is no scale. Write a number such as 9/5, 0.5 or 32.'],
    ['scale: 0', 'contents.scale display.fraction: "0" is no scale. Write a number such as 9/5, 0.5 or 32, and not 0.'],
    ['offset: 1/0', 'contents.offset display.fraction: "1/0" is no offset.'],
    [
      'scale: { by: fet, to: { 0: 1 } }',
      'contents.scale.by field.unknown: There is no field "fet". Did you mean "feet"?',
    ],
    [
      'scale: { by: feet, to: { 0: 1 } }',
      '"scale" says nothing for feet 1. Say it for every value that feet can have.',
    ],
    ['scale: { by: feet, to: { 0: 1, 1: 2, 2: 3 } }', '"2" is no value of feet. It is 1 bit wide: 0 to 1.'],
    ['scale: { by: feet, to: { any: 1, 1: 2 } }', '"scale" is told twice for feet '],
    ['unit: LONG', 'The unit "LONG" leaves no place for the number. The display has 4 places.'],
    ['round: nearest', 'It should be one of half-away, half-even, to-zero, down, up.'],
  ])('when %s is written then it is told once', (contents, said) => {
    expect(found(`${contents}, overflow: dashes`)).toEqual([expect.stringContaining(said)]);
  });

  it('when more decimals are asked for than there are places then that is what is told', () => {
    expect(found('decimals: 4')).toEqual([
      'contents.decimals display.decimals: A number with 4 digits behind the point needs 5 places, and there are 4 places for it. One digit always stands before the point: take fewer decimals, or wire more places.',
    ]);
    expect(found('decimals: 3, unit: L, overflow: dashes')[0]).toContain(
      'needs 4 places, and there are 3 places for it',
    );
    expect(found('decimals: feet, overflow: dashes')).toEqual([]);
  });

  it('when a field is declared as signed then the display takes it so, and another word for it is refused', () => {
    const fields = 'level: { bits: 8, signed: true }, place: { bits: 2, scanned: true }, feet: 1';
    expect(rowsOf('leading-zeros: blank', fields).slice(0, 2)).toEqual(['"-128"', '"-127"']);
    expect(found('signed: true', fields)).toEqual([]);
    for (const signed of ['feet', 'false'])
      expect(found(`signed: ${signed}`, fields)).toEqual([
        'contents.signed field.signed: The field "level" is declared as signed. Strike "signed" here, or in the declaration of the field.',
      ]);
  });
});
