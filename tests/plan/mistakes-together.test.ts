// One mistake hides no other: what does not depend on the wrong part is judged in the same round, and nothing is said twice.
import { describe, expect, it } from 'vitest';
import { inspected, planText, planted } from './planted.js';

/** Exactly the marked findings come out. */
function expectAll(marked: string): void {
  const { text, expected } = planted(marked);
  const { found, findings } = inspected(text);
  expect(found, findings.map((f) => f.message).join('\n')).toEqual(expected);
}

const segments = 'a: D0, b: D1, c: D2, d: D3, e: D4, f: D5, g: D6, unused: D7';
const display = (more: string): string => `contents: { kind: decimal-display, value: number, ${more} }`;
const badPins = {
  address: '    address: { <<field.width>>number: A0..A2, low: [A3..A9, <<pin.twice>>A9, A10] }',
  data: '    data: { a: D0, b: <<pin.twice>>D0, c: D2, d: D3, e: D4, f: D5, g: D6, unused: [D1, D7, <<pin.unknown>>D8] }',
};

const badStepPins = {
  fields: 'fields: { number: 4, step: 2 }',
  address: '    address: { number: A0..A3, step: [A4, <<pin.twice>>A3], low: A5..A10 }',
  data: '    data: { lamp.light: D0, <<output.unknown>>steps.restrat: D1, unused: D2..D7 }',
};

describe('with a wrong chip', () => {
  it('when pins, fields and outputs are wrong too then all are said', () => {
    expectAll(planText(badPins).replace('28C16', '<<chip.unknown>>28C61'));
    expectAll(
      planText({
        address: '    address: { number: [A0..A2, <<pin.unreadable>>B3], <<field.unknown>>numbr: A4 }',
        data: `    data: { ${segments.replace('g: D6', '<<output.unknown>>poimt: D6')} }`,
      }).replace('28C16', '<<chip.unknown>>28C61'),
    );
  });

  it('when a field does not reach the ROM, or not with all bits, then that is said', () => {
    const address = '    <<field.missing>>address: { low: A0..A10 }';
    expectAll(planText({ address }).replace('28C16', '<<chip.unknown>>28C61'));
    const some = '    <<field.width>>address: { number.0..2: A0..A2, low: A3..A10 }';
    expectAll(planText({ address: some }).replace('28C16', '<<chip.unknown>>28C61'));
  });

  it('when the pins are right then nothing is said that only the chip could tell', () => {
    expectAll(
      planText({ address: '    address: { number: A0..A3, low: A4..A14 }' }).replace('28C16', '<<chip.unknown>>28C61'),
    );
  });
});

describe('with wrong contents', () => {
  it.each([
    ['font', 'font: <<shape.value>>ls999, overflow: dashes'],
    ['glyph', 'glyphs: { "7": <<display.glyph>>abx }, overflow: dashes'],
    ['name of a glyph', 'glyphs: { <<shape.value>>"10": abc, "7": <<display.glyph>>abx }, overflow: dashes'],
    ['overflow', 'overflow: <<shape.value>>dots'],
    ['field', 'place: <<field.unknown>>scan, overflow: dashes'],
    ['key', '<<shape.unknown-key>>ovrflow: dashes'],
  ])('when a %s is wrong then mistakes in the pins are said beside it', (_, more) => {
    expectAll(planText({ contents: display(more), ...badPins }));
  });

  it('when a font is wrong then what does not hang on it is judged, and a wrong overflow does not become a missing one', () => {
    expectAll(
      planText({
        contents: `contents: <<display.overflow>>{ kind: decimal-display, value: number, font: <<shape.value>>x }`,
      }),
    );
    expectAll(planText({ contents: display('overflow: { show: <<display.no-glyph>>K }, font: <<shape.value>>x') }));
    expectAll(planText({ contents: display('overflow: { show: L }, glyphs: { L: <<shape.value>>5 }') }));
  });

  it('when a row of a truth table has a wrong shape then the other rows and the pins are judged', () => {
    const contents = `contents:
  kind: truth-table
  outputs: { lamp: 1, level: 2 }
  rows:
    - { when: { number: 0..7 }, give: { lamp: 1, level: 0 } }
    - <<shape.missing>>{ when: { number: 8 } }
    - { when: { number: <<field.value>>16 }, give: { lamp: <<output.value>>2, <<output.unknown>>lamb: 1 } }`;
    expectAll(
      planText({
        contents,
        data: '    data: { lamp: D0, <<output.width>>level: D1, unused: [D2..D7, <<pin.twice>>D0] }',
      }),
    );
    const overlap = `contents:
  kind: truth-table
  outputs: [lamp]
  rows:
    - { when: { number: 0..7 }, give: { lamp: 1 } }
    - { when: { number: <<shape.value>>{} }, give: { lamp: 0 } }
    - <<row.overlap>>{ when: { number: 7 }, give: { lamp: 0 } }`;
    expectAll(planText({ contents: overlap, data: '    data: { lamp: D0, unused: D1..D7 }' }));
  });

  it('when an instruction has a wrong shape then the other instructions and the pins are judged', () => {
    const contents = `contents:
  kind: control-by-step
  opcode: number
  step: step
  lines: { lamp.light: {}, steps.restart: { steps: restart } }
  instructions:
    shine: { opcode: 1, steps: <<shape.value>>5 }
    rest: { opcode: <<opcode.wrong>>77, steps: [<<line.unknown>>steps.restar] }`;
    expectAll(planText({ contents, ...badStepPins }));
  });

  it('when the field of the steps is not declared then the lines and the pins are judged', () => {
    const contents = `contents:
  kind: control-by-step
  opcode: number
  step: <<field.unknown>>stp
  lines: { lamp.light: {}, steps.restart: { steps: restart } }
  first: [<<line.unknown>>lamp.lit]
  instructions:
    rest:
      opcode: 0
      steps: [{ do: <<line.unknown>>lamp.lihgt }, { cases: [{ when: { dark: 1 }, do: <<line.unknown>>step.restart }] }]`;
    expectAll(planText({ contents, ...badStepPins }));
  });

  it('when one bank has a wrong shape then the other is looked through, and no output counts as unknown', () => {
    const contents = `contents:
  kind: banks
  select: half
  banks:
    - { value: 0, contents: <<display.overflow>>{ kind: decimal-display, value: number } }
    - { value: 1, contents: { kind: truth-table, outputs: [lamp: 1], rows: [{ when: {}, give: { lamp: 1 } }] } }`;
    expectAll(
      planText({
        fields: 'fields: { number: 4, half: 1 }',
        contents: contents.replace('[lamp: 1]', '[<<shape.value>>lamp: 1]'),
        address: '    address: { number: A0..A3, half: A4, low: A5..A10 }',
        data: '    data: { a: D0, b: D1, c: D2, d: D3, e: D4, f: D5, g: D6, lamp: D0, unused: [D7, <<pin.twice>>D1] }',
      }),
    );
  });
});

describe('with a wrong shape around the pins', () => {
  it('when a key of a ROM is wrong then its other keys are read', () => {
    expectAll(
      planText({
        address: '    <<shape.unknown-key>>adress: { number: A0..A3, low: A4..A10 }',
        data: badPins.data,
        rest: '    fixed: { <<field.fixed>>number: <<field.value>>16 }',
      }),
    );
  });

  it('when the pins of one field are no pins then the other pins are judged, and the field does not count as missing', () => {
    expectAll(
      planText({
        fields: 'fields: { number: 4, half: 1 }',
        address: '    address: { number: <<shape.value>>7, half: A0, low: [A4..A10, <<pin.twice>>A0] }',
      }).replace('half: 1', 'half: 1'),
    );
  });

  it('when a field has a wrong key but a width then its pins and values are judged by that width', () => {
    expectAll(
      planText({
        fields: 'fields: { number: { bits: 4, <<shape.unknown-key>>scaned: true } }',
        address: '    address: { <<field.width>>number: A0..A2, low: A3..A10 }',
      }),
    );
  });

  it('when a field is fixed and its pin is taken by another then both mistakes are said', () => {
    expectAll(
      planText({
        address: '    address: { number: A0..A3, low: [<<pin.twice>>A0, A4..A10] }',
        rest: '    fixed: { <<field.fixed>>number: 3 }',
      }),
    );
  });

  it('when one ROM is wrong then a field that another lacks is said', () => {
    const two = `  two:
    chip: 28C16
    <<field.missing>>address: { low: A0..A10 }
    data: { ${segments} }`;
    expectAll(planText({ rest: two }).replace('28C16', '<<chip.unknown>>28C61'));
  });
});
