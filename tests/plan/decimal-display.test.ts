// A number on a display: what each setting shows, how that and a difference are said, and what is wrong with the contents.
import { describe, expect, it } from 'vitest';
import { meaningOf } from '../../src/plan/look.js';
import { describeDifference, inspectPlan, listPlan, type Plan, readPlan, romOf } from '../../src/plan/plan.js';
import { fontNames } from '../../src/plan/segment-font.js';

const data = '{ a: D0, b: D1, c: D2, d: D3, e: D4, f: D5, g: D6, point: D7 }';
const text = (
  contents: string,
  fields = 'number: 4, place: 2',
  address = 'number: A0..A3, place: [A4, A5], low: A6..A10',
) =>
  `plan: test\nfields: { ${fields} }\ncontents: { kind: decimal-display, value: number, ${contents} }\nroms:\n  one: { chip: 28C16, address: { ${address} }, data: ${data} }\n`;
const planOf = (...parts: Parameters<typeof text>): Plan => readPlan(text(...parts), 'test.yaml');
const at = (plan: Plan, address: number): string => meaningOf(romOf(plan), address);
const list = (plan: Plan): string[] => listPlan(plan).map((row) => `${row.when} ${row.does}`);
const found = (...parts: Parameters<typeof text>): string[] =>
  inspectPlan(text(...parts), 'test.yaml').findings.map(
    (f) => `${f.severity} ${f.where} ${f.code}: ${f.message} ${f.why}`,
  );
const mode = ['number: 4, place: 2, mode: 1', 'number: A0..A3, place: [A4, A5], mode: A6, low: A7..A10'] as const;

describe('what a setting shows', () => {
  it('when a place is asked for then the whole display and this place are told', () => {
    const plan = planOf('place: place, overflow: dashes');
    expect(at(plan, 12 | (3 << 4))).toBe(
      'number 12 (0xC), place 3: the display reads "  12", this place shows "2" (abdeg)',
    );
    expect(at(plan, 12 | (0 << 4))).toBe('number 12 (0xC), place 0: the display reads "  12", this place is dark');
  });

  it('when the order is turned then the first place is the right one', () => {
    const plan = planOf('place: place, overflow: dashes, order: right-to-left');
    expect(at(plan, 12)).toContain('place 0: the display reads "  12", this place shows "2"');
    expect(at(plan, 12 | (3 << 4))).toContain('this place is dark');
  });

  it('when the place counts further than there are places then that is told, and nothing is wanted there', () => {
    const plan = planOf('place: place, places: 2, overflow: dashes');
    expect(at(plan, 7 | (2 << 4))).toBe('number 7, place 2: no such place on the display');
    expect(at(plan, 7 | (1 << 4))).toContain('reads " 7", this place shows "7"');
  });

  it.each([
    ['dashes', '"--"'],
    ['blank', '"  "'],
    ['low-digits', '"12"'],
    ['{ show: "oL" }', '"OL"'],
  ])('when 112 does not fit and overflow is %s then it shows %s', (overflow, shown) => {
    const glyphs = ', glyphs: { o: abcdef, l: def }';
    const plan = planOf(
      `place: place, places: 2, overflow: ${overflow}${glyphs}`,
      'number: 7, place: 1',
      'number: A0..A6, place: A7, low: A8..A10',
    );
    expect(list(plan)[112]).toBe(`number 112 (0x70) ${shown}`);
    expect(list(plan)).toContain('number 99 (0x63) "99"');
    // Small letters in the plan are glyphs all the same.
    if (shown === '"OL"') expect(at(plan, 112)).toContain('this place shows "0"');
  });

  it('when leading zeros are shown then they are', () => {
    expect(list(planOf('place: place, leading-zeros: show, overflow: dashes'))).toContain('number 7 "0007"');
    expect(list(planOf('place: place, overflow: dashes'))).toContain('number 7 "   7"');
  });

  it('when the radix is 16 then digits go to F', () => {
    const plan = planOf('place: place, radix: 16');
    expect(list(plan)[15]).toBe('number 15 (0xF) "   F"');
    expect(found('place: place, radix: 16').filter((f) => f.startsWith('error'))).toEqual([]);
  });

  it('when there are decimals then the point stands behind the ones, and its place says so', () => {
    const plan = planOf('place: place, decimals: 1, overflow: dashes');
    expect(list(plan)[12]).toBe('number 12 (0xC) "  1.2"');
    expect(at(plan, 12 | (2 << 4))).toContain('this place shows "1." (bc and point)');
  });

  it('when a field says how many decimals then each of its values counts', () => {
    const [fields, address] = mode;
    const plan = planOf('place: place, decimals: mode, overflow: dashes', fields, address);
    expect(list(plan).filter((row) => row.startsWith('number 12'))).toEqual([
      'number 12 (0xC), mode 0 "  12"',
      'number 12 (0xC), mode 1 "  1.2"',
    ]);
  });

  it('when a field says that it is signed then the list has its two halves, the value counting fastest', () => {
    const [fields, address] = mode;
    const plan = planOf('place: place, signed: mode, overflow: dashes', fields, address);
    const rows = list(plan);
    expect(rows.length).toBe(32);
    expect(rows[15]).toContain('"  15"');
    expect(rows[31]).toContain('"  -1"');
    expect(rows[24]).toContain('"  -8"');
    expect(rows[16]).toContain('"   0"');
    expect(list(planOf('place: place, signed: true, overflow: dashes'))[15]).toContain('"  -1"');
  });

  it('when there is one digit and no place then it is that', () => {
    const plan = planOf('overflow: blank', 'number: 4', 'number: A0..A3, low: A4..A10');
    expect(at(plan, 7)).toBe('number 7: the display reads "7", this place shows "7" (abc)');
    expect(at(plan, 12)).toContain('reads " ", this place is dark');
  });

  it('when the display has a common anode then every segment is active low, the others are not', () => {
    expect(romOf(planOf('place: place, common: anode, overflow: dashes')).table.activeLow.size).toBe(8);
    expect(romOf(planOf('place: place, overflow: dashes')).table.activeLow.size).toBe(0);
  });
});

describe('what differs', () => {
  const plan = planOf('place: place, overflow: dashes');
  const eight = 8 | (3 << 4);
  const differs = (actual: number): string[] => describeDifference(romOf(plan), eight, 0b1111111, actual).split('\n');

  it('when segments are lit or dark that should not be then both are named, and both looks are drawn', () => {
    const [said, head] = differs(0b10111111);
    expect(said).toBe(
      'number 8, place 3: the display should read "   8"; place 3 shows "0." (abcdef and point), not "8": point lit and should be dark, g dark and should be lit',
    );
    expect(head).toMatch(/^ *should +is$/);
  });

  it('when it is dark, or no letter, then that is how it is called', () => {
    expect(differs(0)[0]).toContain('place 3 is dark, not "8": abcdefg dark and should be lit');
    expect(differs(0b0000011)[0]).toContain('place 3 lights the segments ab, not "8"');
    const dark = describeDifference(romOf(plan), 8, 0, 1).split('\n')[0]!;
    expect(dark).toContain('not dark: a lit and should be dark');
  });

  it('when there is one digit then it is called so', () => {
    const one = planOf('overflow: blank', 'number: 4', 'number: A0..A3, low: A4..A10');
    expect(describeDifference(romOf(one), 8, 0b1111111, 1)).toContain('; the digit lights the segments a, not "8"');
  });
});

describe('what is wrong with the contents', () => {
  const unknown = (role: string, name: string): string =>
    `error contents.${role} field.unknown: There is no field "${name}". Declare it under "fields", or name one of: number, place.`;

  it.each([
    ['place: plaec', 'place', 'plaec'],
    ['place: place, signed: mode', 'signed', 'mode'],
    ['place: place, decimals: mode', 'decimals', 'mode'],
  ])('when %s names no field then it is told', (contents, role, name) => {
    expect(found(`${contents}, overflow: dashes`)).toContain(unknown(role, name));
  });

  it('when no field is declared at all then that is told', () => {
    const findings = inspectPlan(
      text('overflow: dashes', 'number: 4').replace('{ number: 4 }', '{}'),
      'test.yaml',
    ).findings;
    expect(findings.map((f) => f.why).join()).toContain('or name one of: none declared.');
  });

  it.each([
    [
      'place: place, signed: place',
      'contents.signed',
      'The field "place" is 2 bits wide. Signed or not is one bit: 1 means signed.',
    ],
    [
      'place: place, places: 5',
      'contents.places',
      '5 places are more than the field "place" can count. Its 2 bits count 4 places.',
    ],
    [
      'places: 2',
      'contents.places',
      '2 places are more than one, and no field chooses the place. Name the scan field under "place".',
    ],
    [
      'place: number',
      'contents.value',
      'One field has two parts to play in this display. Value, place, signed and decimals are fields of their own.',
    ],
  ])('when %s does not go together then it is told', (contents, where, said) => {
    expect(found(`${contents}, overflow: dashes`)).toContain(`error ${where} field.width: ${said}`);
  });

  it('when as many places are named as the field counts then that is right', () => {
    expect(found('place: place, places: 4, overflow: dashes')).toEqual([]);
    const wide = ['number: 4, place: 4', 'number: A0..A3, place: A4..A7, low: A8..A10'] as const;
    expect(found('place: place, overflow: dashes', ...wide)).toEqual([]);
  });

  it('when a field counts more than 16 places then the number must be said', () => {
    const wide = ['number: 4, place: 5', 'number: A0..A3, place: A4..A8, low: A9..A10'] as const;
    expect(found('place: place, overflow: dashes', ...wide)).toContain(
      'error contents.place field.width: The field "place" counts more than 16 places. Say how many there are under "places".',
    );
    expect(found('place: place, places: 16, overflow: dashes', ...wide).filter((f) => f.startsWith('error'))).toEqual(
      [],
    );
  });

  it('when what shows on overflow has no glyph then it is named, and what to give', () => {
    expect(found('place: place, overflow: { show: "oK" }')).toContain(
      'error contents.overflow.show display.no-glyph: There is no glyph for "K", which shows on overflow. Every font has digits, blank, - and A B C D E F G H I J L N O P Q R S T U Y ° _ =; give another its segments under "glyphs", e.g. "K": bcefg.',
    );
    expect(found('place: place, overflow: { show: "-1" }')).toEqual([]);
  });

  it.each(fontNames)('when %s is taken then the text that the error proposes shows in it', (font) => {
    const plan = planOf(
      `place: place, places: 2, overflow: { show: OL }, font: ${font}`,
      'number: 7, place: 1',
      'number: A0..A6, place: A7, low: A8..A10',
    );
    expect(list(plan)[112]).toBe('number 112 (0x70) "OL"');
    // L lights d, e and f.
    expect(at(plan, 112 | (1 << 7))).toContain('this place shows "L" (def)');
  });

  it('when a glyph has a letter that is no segment then the segments are named', () => {
    expect(found('place: place, overflow: dashes, glyphs: { x: abz }').join()).toContain(
      'Segments are named a (top), b, c clockwise, d (bottom), e, f, and g (middle).',
    );
  });

  it('when a value does not fit and nothing says what shows then the first such value is named', () => {
    expect(found('overflow: dashes', 'number: 4', 'number: A0..A3, low: A4..A10')).toEqual([]);
    const [finding] = inspectPlan(text('radix: 10', 'number: 4', 'number: A0..A3, low: A4..A10'), 'test.yaml').findings;
    expect(`${finding!.message} ${finding!.why}`).toBe(
      'The value 10 does not fit in 1 place, and the plan does not say what shows then. Add "overflow: dashes", blank, low-digits or { show: "OL" }, or wire more places.',
    );
  });

  it('when two digits look the same, or one is dark, then a warning names both', () => {
    const same = found('place: place, overflow: dashes, glyphs: { "6": abc, "3": "" }');
    expect(same.filter((f) => f.includes('same-glyph'))).toEqual([
      'warning contents.font display.same-glyph: "7" looks the same as "6" in this font. A reader could not tell them apart; choose another font, or give one a glyph of its own.',
      'warning contents.glyphs.3 display.same-glyph: "3" looks the same as a dark digit in this font. A reader could not tell them apart; choose another font, or give one a glyph of its own.',
    ]);
  });
});
