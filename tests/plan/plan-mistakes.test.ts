// Every kind of mistake planted in a plan: it is found, at its place, and said with what would have been right.
import { describe, expect, it } from 'vitest';
import { ToolErrors } from '../../src/ground/errors.js';
import { planOfObject } from '../../src/plan/plan.js';
import { inspected, planText, planted, thrown } from './planted.js';

/** Checks that exactly the marked findings come out, and that the first says these words. */
function expectPlanted(marked: string, ...words: RegExp[]): void {
  const { text, expected } = planted(marked);
  const { found, findings } = inspected(text);
  expect(found, findings.map((f) => f.message).join('\n')).toEqual(expected);
  const all = findings.map((f) => `${f.message} ${f.why}`).join('\n');
  for (const word of words) expect(all).toMatch(word);
}

const table = (rows: string): string => `contents:\n  kind: truth-table\n  outputs: { lamp: 1, level: 2 }\n${rows}`;
const tableData = '    data: { lamp: D0, level: [D1, D2], unused: D3..D7 }';

describe('mistakes in the pins', () => {
  it('when an address pin is used twice then both users are named', () => {
    expectPlanted(
      planText({ address: '    address: { number: [A0, A1, A2, A3], low: [<<pin.twice>>A3, A4..A10] }' }),
      /A3 is used twice: by "number" and by "low"/,
    );
  });

  it('when a data pin is used twice then both users are named', () => {
    expectPlanted(
      planText({
        data: '    data: { a: D0, b: <<pin.twice>>D0, c: D2, d: D3, e: D4, f: D5, g: D6, unused: [D1, D7] }',
      }),
      /D0 is used twice: by "a" and by "b"/,
    );
  });

  it('when address pins are not used at all then they are named', () => {
    expectPlanted(
      planText({ address: '    <<pin.missing>>address: { number: A0..A3, low: A4..A8 }' }),
      /A9, A10/,
      /low, high or unused/,
    );
  });

  it('when a data pin carries nothing and nobody said so then a warning names it', () => {
    expectPlanted(
      planText({ data: '    <<pin.idle>>data: { a: D0, b: D1, c: D2, d: D3, e: D4, f: D5, g: D6 }' }),
      /D7 carries nothing/,
    );
  });

  it('when a pin is not on the chip then its pins are said', () => {
    expectPlanted(
      planText({ address: '    address: { number: A0..A3, low: [A4..A10, <<pin.unknown>>A11] }' }),
      /no pin A11/,
      /A0 to A10/,
    );
    expectPlanted(
      planText({
        data: '    data: { a: D0, b: D1, c: D2, d: D3, e: D4, f: D5, g: D6, unused: [D7, <<pin.unknown>>D8] }',
      }),
      /no pin D8/,
    );
  });

  it('when a pin cannot be read then the spelling is said', () => {
    expectPlanted(
      planText({ address: '    address: { number: [A0, A1, A2, <<pin.unreadable>>B3], low: A4..A10 }' }),
      /"B3" is not a pin/,
    );
  });

  it('when an address pin without a field has a stroke then it is refused', () => {
    expectPlanted(
      planText({ address: '    address: { number: A0..A3, low: [<<pin.polarity>>/A4, A5..A10] }' }),
      /stroke/,
    );
  });

  it('when polarity is said twice then it is refused', () => {
    const contents = 'contents: { kind: decimal-display, value: number, overflow: dashes, common: anode }';
    expectPlanted(
      planText({
        contents,
        data: '    data: { a: <<pin.polarity>>/D0, b: D1, c: D2, d: D3, e: D4, f: D5, g: D6, unused: D7 }',
      }),
      /one place/,
    );
  });

  it('when a field has more or fewer pins than bits then both counts are said', () => {
    expectPlanted(
      planText({ address: '    address: { <<field.width>>number: A0..A2, low: A3..A10 }' }),
      /4 bits wide and has 3 pins/,
    );
    expectPlanted(
      planText({ address: '    address: { <<field.width>>number: A0..A4, low: A5..A10 }' }),
      /4 bits wide and has 5 pins/,
    );
  });

  it('when a bit is not in the field then its bits are said', () => {
    expectPlanted(
      planText({ address: '    address: { number.0..2: A0..A2, <<field.width>>number.4: A3, low: A4..A10 }' }),
      /no bit 4/,
    );
  });

  it('when a bit of a field has no pin then it is named', () => {
    expectPlanted(
      planText({ address: '    <<field.width>>address: { number.0..2: A0..A2, low: A3..A10 }' }),
      /number\.3 has no pin/,
    );
  });

  it('when a bit reaches two pins then both are named', () => {
    expectPlanted(
      planText({ address: '    <<field.bit-twice>>address: { number: A0..A3, number.1: A4, low: A5..A10 }' }),
      /A1 and A4/,
    );
  });

  it('when a field is unknown then the near one is offered', () => {
    expectPlanted(
      planText({ address: '    address: { <<field.unknown>>numbr: A0..A3, low: A4..A10 }' }),
      /Did you mean "number"/,
    );
  });

  it('when an output is unknown then the near one is offered', () => {
    expectPlanted(
      planText({ data: '    data: { a: D0, b: D1, c: D2, d: D3, e: D4, f: D5, g: D6, <<output.unknown>>poimt: D7 }' }),
      /Did you mean "point"/,
    );
  });

  it('when a field does not reach a ROM whose outputs depend on it then it is an error', () => {
    expectPlanted(
      planText({ address: '    <<field.missing>>address: { low: A0..A10 }' }),
      /"number" does not reach the ROM "one"/,
    );
  });

  it('when a field is fixed and wired then one of the two has to go', () => {
    expectPlanted(planText({ rest: '    fixed: { <<field.fixed>>number: 3 }' }), /fixed for this ROM and has pins too/);
  });

  it('when a fixed value does not fit then its range is said', () => {
    expectPlanted(
      planText({ address: '    address: { low: A0..A10 }', rest: '    fixed: { number: <<field.value>>16 }' }),
      /0 to 15/,
    );
  });

  it('when the chip is unknown then near names are offered', () => {
    const text = planText({}).replace('28C16', '<<chip.unknown>>28C61');
    expectPlanted(text, /28C6?1?6?4?/);
  });
});

describe('mistakes that show in the image', () => {
  const three = planText({
    fields: 'fields: { number: 4, spare: 3 }',
    address: '    <<input.idle>>address: { number: A0..A3, spare: A4..A6, low: A7..A10 }',
  });

  it('when no output depends on an input then a warning names it', () => {
    expectPlanted(
      three.replace('spare: 3', '<<field.unread>>spare: 3'),
      /A4 \(spare\.0\), A5 \(spare\.1\), A6 \(spare\.2\)/,
    );
  });

  it('when fewer address lines are enough then the smaller chip is named', () => {
    const text = planText({
      fields: 'fields: { number: 4, <<field.unread>>spare: 1 }',
      address: '    <<input.idle>>address: { number: A0..A3, spare: A4, low: A5..A12 }',
    }).replace('28C16', '28C64');
    expectPlanted(text, /a 28C16 would do in place of the 28C64/);
  });

  it('when bytes are not defined then it is said how many, where, and what they hold', () => {
    const contents = table(
      '  <<row.hole>><<row.hole>>rows:\n    - { when: { number: 0..11 }, give: { lamp: 1, level: 2 } }',
    );
    const marked = planText({ contents, data: tableData })
      .replace('  one:', '  <<cell.undefined>>one:')
      .replace('address:', '<<input.idle>>address:');
    expectPlanted(
      marked,
      /4 of 2048 bytes of "one" are not defined, the first at 0x00C/,
      /what the chip holds there already/,
    );
  });

  it('when an output that is set reaches no pin then a warning names it', () => {
    expectPlanted(
      planText({ data: '    <<output.unwired>>data: { a: D0, b: D1, c: D2, d: D3, e: D4, f: D5, unused: [D6, D7] }' }),
      /output "g" reaches no data pin/,
    );
  });

  it('when a field is declared and nothing reads it then a warning names it', () => {
    expectPlanted(
      planText({ fields: 'fields: { number: 4, <<field.unread>>spare: 1 }' }),
      /No contents read the field "spare"/,
    );
  });
});

describe('mistakes in a display', () => {
  const display = (more: string): string =>
    planText({ contents: `contents: { kind: decimal-display, value: number, ${more} }` });

  it('when a value does not fit and overflow is not said then the value is named', () => {
    const text = planText({ contents: 'contents: <<display.overflow>>{ kind: decimal-display, value: number }' });
    expectPlanted(text, /10 does not fit in 1 place,/, /overflow: dashes/);
  });

  it('when a field is not declared then it is named', () => {
    expectPlanted(display('overflow: dashes, place: <<field.unknown>>scan'), /no field "scan"/);
  });

  it('when a glyph has segments that there are not then the letters are said', () => {
    expectPlanted(display('overflow: dashes, glyphs: { "7": <<display.glyph>>abx }'), /"abx"/, /a to g/);
  });

  it('when overflow shows a letter without a glyph then it is named', () => {
    expectPlanted(display('overflow: { show: <<display.no-glyph>>K }'), /no glyph for "K"/, /"K": bcefg/, /H I J L N/);
  });

  it('when two digits look the same then a warning names them', () => {
    expectPlanted(
      display('radix: 16, font: <<display.font>>ls48'),
      /no letters for the digits A, B, C, D, E, F/,
      /font: hex/,
    );
    expectPlanted(display('overflow: dashes, glyphs: { "7": <<display.same-glyph>>bc }'), /"7" looks the same as "1"/);
  });

  it('when the signed field is wider than a bit then it is said', () => {
    expectPlanted(
      display('overflow: dashes, signed: <<field.width>>number').replace('value: ', 'value: <<field.width>>'),
      /one bit: 1 means signed/,
      /two parts to play/,
    );
  });

  it('when there are more places than the scan field counts then it is said', () => {
    expectPlanted(display('overflow: dashes, places: <<field.width>>2'), /no field chooses the place/);
  });
});

describe('mistakes in a truth table', () => {
  const truth = (rows: string): string =>
    planText({ contents: table(rows), data: tableData }).replace('address:', '<<input.idle>>address:');

  it('when two rows overlap and disagree then both are named with a setting', () => {
    const rows =
      '  rows:\n    - { when: { number: 0..7 }, give: { lamp: 1, level: 0 } }\n    - <<row.overlap>>{ about: late, when: { number: 7..15 }, give: { lamp: 0, level: 0 } }';
    expectPlanted(
      planText({ contents: table(rows), data: tableData }),
      /disagree at number 7: row 1 gives lamp 1, row 2 \("late"\) gives lamp 0/,
    );
  });

  it('when settings are left out then the hole and the row next to it are named', () => {
    const rows =
      '  <<row.hole>>rows:\n    - { when: { number: 0..11 }, give: { lamp: 1, level: 0 } }\n    - { when: { number: 12..15 }, give: { level: 0 } }';
    expectPlanted(truth(rows), /No row says what lamp is at number 12\.\.15, next to row 1 \(4 of 16 settings\)/);
  });

  it('when a row adds nothing then a warning names it', () => {
    const rows =
      '  rows:\n    - { when: {}, give: { lamp: 1, level: 0 } }\n    - <<row.never>>{ when: { number: 3 }, give: { lamp: 1 } }';
    expectPlanted(truth(rows), /Row 2 adds nothing/);
  });

  it('when a value, a field or an output does not exist then each is named', () => {
    const rows =
      '  rows:\n    - { when: { number: <<field.value>>16, <<field.unknown>>nuber: 1 }, give: { lamp: <<output.value>>2, <<output.unknown>>lamb: 1 } }';
    expectPlanted(
      planText({ contents: table(rows), data: tableData }),
      /"16" is no value of number/,
      /Did you mean "lamp"/,
      /0 to 1/,
    );
  });
});

describe('outputs of a truth table in a wrong shape', () => {
  const saying = (outputs: string): string => {
    const rows = 'rows: [{ when: { number: any }, give: { lamp: 1 } }]';
    return planText({ contents: `contents: { kind: truth-table, outputs: ${outputs}, ${rows} }`, data: tableData });
  };

  it.each([
    ['<<shape.value>>lamp', /"outputs" is "lamp"/],
    ['[<<shape.value>>lamp: 1, <<shape.value>>level: 2]', /"outputs.0" is a map/],
    ['[<<shape.value>>{ name: lamp, bits: 1 }, level]', /"outputs.0" is a map/],
    ['[<<shape.value>>[lamp]]', /"outputs.0" is a list/],
    ['{ lamp: <<shape.value>>{ feeds: [key] }, level: 2 }', /"outputs.lamp" is a map/],
    ['{ lamp: <<shape.value>>wide, level: 2 }', /"outputs.lamp" is "wide"/],
    ['<<shape.value>>{}', /1 to 64 outputs/],
    ['<<shape.value>>[]', /"outputs" is a list/],
  ])('when they are %s then both right ways are shown, and only at the mistake', (outputs, words) => {
    expectPlanted(saying(outputs), words, /outputs: \{ lamp: 1, level: 2 \}/);
  });

  it('when a name is a number, or stands twice, then it is said in the words of a list', () => {
    expectPlanted(saying('[<<shape.value>>1, <<shape.value>>2]'), /"outputs.0" is 1\. It should be a name in letters/);
    expectPlanted(saying('[lamp, level, <<shape.value>>lamp]'), /"outputs.2" is "lamp"\. .*named once/);
  });
});

describe('mistakes in banks', () => {
  it('when two banks have one value, or one too large, then it is said', () => {
    const bank = (value: string): string =>
      `    - { value: ${value}, contents: { kind: truth-table, outputs: [lamp], rows: [{ when: {}, give: { lamp: 1 } }] } }`;
    const contents = [
      'contents:',
      '  kind: banks',
      '  select: number',
      '  banks:',
      bank('0'),
      bank('<<bank.twice>>0'),
      bank('<<field.value>>16'),
    ].join('\n');
    expectPlanted(planText({ contents, data: '    data: { lamp: D0, unused: D1..D7 }' }), /Two banks have the value 0/);
  });

  it('when outputs of banks that speak together share a pin then it is a pin used twice', () => {
    const rows = 'rows: [{ when: {}, give: { lamp: 1, horn: 0 } }]';
    const contents = `contents:\n  kind: banks\n  select: number\n  banks:\n    - { value: 0, contents: { kind: truth-table, outputs: [lamp, horn], ${rows} } }`;
    expectPlanted(planText({ contents, data: '    data: { lamp: D0, horn: <<pin.twice>>D0, unused: D1..D7 }' }));
  });
});

describe('mistakes in the shape', () => {
  it('when a key is unknown then the near one is offered, at the key', () => {
    expectPlanted(
      planText({}).replace('    chip:', '    <<shape.unknown-key>>adress: {}\n    chip:'),
      /Did you mean "address"/,
    );
  });

  it('when several keys are unknown then all of them are said', () => {
    expectPlanted(
      `<<shape.unknown-key>>abot: x\n<<shape.unknown-key>>fild: y\n${planText({ rest: '    <<shape.unknown-key>>crip: z' })}`,
    );
  });

  it('when a key is missing then the map that lacks it is shown', () => {
    expectPlanted(
      planText({})
        .replace('    chip: 28C16\n', '')
        .replace('  one:\n    address', '  one:\n    <<shape.missing>>address'),
      /"chip" is missing/,
    );
  });

  it('when a value has the wrong kind then what it is and should be is said', () => {
    expectPlanted(planText({ rest: 'fill: <<shape.value>>300' }), /"fill" is 300/, /a whole number from 0 to 255/);
    expectPlanted(planText({ fields: 'fields: { number: <<shape.value>>wide }' }), /The field "number" is "wide"/);
  });

  it('when the kind of contents is unknown or missing then the kinds are said', () => {
    expectPlanted(
      planText({ contents: 'contents: { kind: <<contents.kind>>truth-tabel }' }),
      /Did you mean "truth-table"/,
    );
    expectPlanted(planText({ contents: 'contents: <<contents.kind>>{}' }), /decimal-display, truth-table/);
  });

  it('when there are no ROMs or no contents then it is said', () => {
    expect(thrown('plan: x\nroms: {}').join()).toMatch(/"roms" holds no ROMs/);
    expect(thrown('[1, 2]').join()).toMatch(/This is not a plan/);
    expect(thrown('').join()).toMatch(/This is not a plan/);
    expectPlanted(planText({ contents: '' }).replace('  one:', '  <<contents.missing>>one:'), /has no contents/);
  });
});

describe('many mistakes', () => {
  it('when a plan has ten mistakes then all ten are said at once', () => {
    const { text, expected } = planted(`plan: ten
<<shape.unknown-key>>abuot: ten mistakes
fields:
  number: 4
  place: <<shape.missing>>{}
fill: <<shape.value>>999
contents: { kind: decimal-display, value: number, overflow: dashes, glyphs: { "7": <<display.glyph>>xyz } }
roms:
  one:
    chip: <<chip.unknown>>28C61
    address: { number: A0..A3 }
    <<pin.idle>>data: { a: <<pin.unreadable>>X0, b: D1, c: <<pin.twice>>D1 }
  two:
    chip: 28C16
    address: { <<field.unknown>>numbr: A4, number: [A0..A2, <<pin.unknown>>A30], low: [<<pin.twice>>A4] }
    <<pin.idle>>data: { <<output.unknown>>aa: D0 }
`);
    expect(inspected(text).found).toEqual(expected);
    // The two idle data pins are warnings.
    expect(thrown(text)).toHaveLength(expected.length - 2);
    expect(expected.length - 2).toBeGreaterThanOrEqual(10);
  });

  it('when errors are thrown then each names file, line, column and what would have been right', () => {
    for (const said of thrown(planText({ address: '    address: { number: A0..A2, low: A3..A12 }' }))) {
      expect(said).toMatch(/^test\.yaml:\d+:\d+: .+\. \S.+\.$/);
    }
  });

  it('when a plan is a module then the path inside it stands in for line and column', () => {
    try {
      planOfObject(
        { plan: 'x', fields: { n: 4 }, contents: { kind: 'function', outputs: { y: 4 }, at: 5 }, roms: {} },
        'x.js',
      );
      expect.unreachable();
    } catch (error) {
      if (!(error instanceof ToolErrors)) throw error;
      expect(error.errors.map((e) => e.message).join('\n')).toMatch(/^x\.js, at contents\.at: "at" is 5\./m);
    }
  });
});
