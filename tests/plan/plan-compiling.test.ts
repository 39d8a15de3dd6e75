// The outer parts of a plan: fields and ROMs as maps of names, contents here and there, and that no mistake is lost among warnings.
import { describe, expect, it } from 'vitest';
import { buildPlan, inspectPlan, inspectPlanObject, planOfObject, readPlan } from '../../src/plan/plan.js';
import { planText } from './planted.js';

/** Everything found, as `line:column code: message why`. */
const all = (text: string): string[] =>
  inspectPlan(text, 'test.yaml').findings.map((f) => `${f.line}:${f.column} ${f.code}: ${f.message} ${f.why}`);

const lamp = (rows = '{ when: {}, give: { lamp: 1 } }'): string =>
  `contents: { kind: truth-table, outputs: [lamp], rows: [${rows}] }`;
const lampData = '    data: { lamp: D0, unused: D1..D7 }';
const segments = 'a: D0, b: D1, c: D2, d: D3, e: D4, f: D5, g: D6, unused: D7';

describe('a plan as a whole', () => {
  it.each(['[1, 2]', 'plan', ''])('when it is %j then it is no plan, and how one begins is said', (text) => {
    expect(all(text)).toEqual([
      '1:1 shape.value: This is not a plan. A plan begins with "plan:" and has "fields", "contents" and "roms".',
    ]);
  });

  it('when it is no plan then the whole of it is the place', () => {
    expect(inspectPlanObject([], 'x.js').findings.map((f) => f.path)).toEqual([[]]);
  });

  it('when it has no ROMs then the plan is what lacks them', () => {
    expect(all(`plan: test\n${lamp()}`)).toEqual([
      '1:1 shape.missing: The key "roms" is missing. It belongs to the plan.',
    ]);
  });

  it('when a module leaves its ROMs undefined then that is said too', () => {
    const { plan, findings } = inspectPlanObject({ plan: 'test', roms: undefined }, 'test.js');
    expect(plan).toBeNull();
    expect(findings.map((f) => `${f.where} ${f.code}: ${f.message}`)).toEqual([
      'roms shape.value: "roms" holds no ROMs.',
    ]);
  });

  it('when a module leaves its fields undefined then it has none', () => {
    const roms = {
      one: { chip: '28C16', address: { low: 'A0..A10' }, data: { lamp: 'D0', unused: 'D1..D7' } },
    };
    const contents = { kind: 'truth-table', outputs: ['lamp'], rows: [{ when: {}, give: { lamp: 1 } }] };
    const plan = planOfObject({ plan: 'test', fields: undefined, contents, roms }, 'test.js');
    expect([...plan.fields.keys()]).toEqual([]);
  });

  it('when it declares no fields then none are read, and it is built', () => {
    const address = '    address: { low: A0..A10 }';
    const text = planText({ fields: '', contents: lamp(), address, data: lampData });
    expect(all(text)).toEqual([]);
    const [built] = buildPlan(readPlan(text, 'test.yaml'));
    expect([built!.image.bytes[0], built!.image.defined[0], built!.image.defined[1]]).toEqual([0xff, 1, 0]);
  });

  it('when a mistake stands behind hundreds of warnings then it is said, and nothing is built', () => {
    const rows = new Array<string>(300).fill('{ when: {}, give: { lamp: 1 } }').join(', ');
    const text = planText({ contents: lamp(rows), data: '    data: { lamp: D0, unused: [D0..D7] }' });
    const { plan, findings } = inspectPlan(text, 'test.yaml');
    expect(plan).toBeNull();
    expect(findings.filter((f) => f.severity === 'error').map((f) => f.message)).toEqual([
      'The pin D0 is used twice: by "lamp" and by "unused".',
    ]);
    expect(findings.filter((f) => f.severity === 'warning').length).toBe(200);
    expect(() => readPlan(text, 'test.yaml')).toThrow();
  });

  it('when the cells that nothing says are filled then they hold that byte, and else FF', () => {
    const contents = lamp('{ when: { number: 1 }, give: { lamp: 0 } }');
    const bytes = (rest: string): number[] => {
      const [built] = buildPlan(readPlan(planText({ contents, data: lampData, rest }), 'test.yaml'));
      return [...built!.image.bytes.slice(0, 3)];
    };
    expect(bytes('fill: 0x5A')).toEqual([0x5a, 0x5a, 0x5a]);
    expect(bytes('fill: 0')).toEqual([0, 0, 0]);
    expect(bytes('')).toEqual([0xff, 0xfe, 0xff]);
  });
});

describe('fields and ROMs by name', () => {
  const manyFields = (count: number, last = '1'): string =>
    `fields: { number: 4, ${Array.from({ length: count - 1 }, (_, i) => `f${i}: ${i === count - 2 ? last : 1}`).join(', ')} }`;

  it('when there are 32 fields then they are read, and one more is too many', () => {
    expect(all(planText({ fields: manyFields(32) })).filter((f) => f.includes('shape.value'))).toEqual([]);
    const found = all(planText({ fields: manyFields(33) }));
    expect(found).toEqual(['2:9 shape.value: "fields" holds 33 fields. A plan has at most 32.']);
  });

  it('when there are too many then the first are read and the others are not', () => {
    expect(all(planText({ fields: manyFields(33, 'wide') })).length).toBe(1);
    expect(all(planText({ fields: manyFields(32, 'wide') })).join()).toContain('The field "f30" is "wide".');
  });

  it.each(['{}', '[number]', 'number'])(
    'when the fields are %s then the map that they should be is shown',
    (fields) => {
      const text = planText({
        fields: `fields: ${fields}`,
        contents: lamp(),
        address: '    address: { low: A0..A10 }',
        data: lampData,
      });
      expect(all(text)).toEqual([
        '2:9 shape.value: "fields" holds no fields. It should be a map: the name of each field, and what it is.',
      ]);
    },
  );

  it.each(['{}', '[one]', 'one'])('when the ROMs are %s then the map that they should be is shown', (roms) => {
    expect(all(`plan: test\nroms: ${roms}`)).toEqual([
      '2:7 shape.value: "roms" holds no ROMs. It should be a map: the name of each ROM, and what it is.',
    ]);
  });

  const named = (name: string): string => planText({}).replace('  one:', `  "${name}":`);

  it.each(['1st', '-a', '_a', 'left half', 'a.b', '\u00e4', 'a/b', 'x'.repeat(65)])(
    'when a ROM is named %j then what a name is made of is said, at the name',
    (name) => {
      expect(all(named(name))).toEqual([
        `5:3 rom.name: "${name}" cannot be the name of a ROM. A name has letters, digits, - and _, begins with a letter, and becomes a file name.`,
      ]);
    },
  );

  it.each(['a', 'Z9', 'left-half_2', 'x'.repeat(64)])('when a ROM is named %j then that is a name', (name) => {
    expect(all(named(name))).toEqual([]);
  });

  it('when a ROM is no map then it is named, and the others are read', () => {
    expect(all(`${planText({})}\n  two: 28C16`)).toEqual([
      expect.stringMatching(/^10:8 shape\.value: The ROM "two" is "28C16"\./),
    ]);
  });
});

describe('contents of a ROM', () => {
  it('when neither the plan nor the ROM has any then both places are offered', () => {
    expect(all(planText({ contents: '' }))).toEqual([
      '5:3 contents.missing: The ROM "one" has no contents. Write "contents" for the whole plan or for this ROM.',
    ]);
  });

  it('when they stand in the ROM and have a mistake then it is shown there', () => {
    const contents = '    contents: { kind: decimal-display, value: number, overflow: dashes, glyphs: { "7": abx } }';
    const found = all(planText({ contents: '', rest: contents }));
    expect(found.length).toBe(1);
    expect(found[0]).toMatch(/^9:88 display\.glyph: /);
  });

  it.each([
    ['none', ''],
    ['of no kind that there is', 'contents: { kind: decimal }'],
  ])('when they are %s then a pin used twice is said all the same', (_, contents) => {
    const data = `    data: { ${segments.replace('b: D1', 'b: D0')} }`;
    const found = all(planText({ contents, data }));
    expect(found.join('\n')).toContain('pin.twice: The pin D0 is used twice: by "a" and by "b".');
  });

  it('when they have banks that nobody understands then any outputs may share a pin', () => {
    const data = `    data: { ${segments.replace('b: D1', 'b: [D0, D1]')} }`;
    const found = all(planText({ contents: 'contents: { kind: bank, banks: [] }', data }));
    expect(found.join('\n')).not.toContain('pin.twice');
  });
});

describe('a fixed field', () => {
  const fixed = (address: string): string =>
    planText({
      fields: 'fields: { number: 4, mode: 2 }',
      contents: 'contents: { kind: decimal-display, value: number, overflow: dashes }',
      address: `    address: { number: A0..A3, ${address} }`,
      rest: '    fixed: { mode: 1 }',
    });

  it.each(['mode: [A4, A5], low: A6..A10', 'mode.0: A4, mode.1: A5, low: A6..A10'])(
    'when it has the pins {%s} too then one of the two has to go',
    (address) => {
      const found = all(fixed(address)).filter((f) => f.includes('field.fixed'));
      expect(found).toEqual([
        '9:14 field.fixed: The field "mode" is fixed for this ROM and has pins too. Strike it in one of the two places.',
      ]);
    },
  );

  it('when it has no pins then all is well with it', () => {
    expect(all(fixed('low: A4..A10')).filter((f) => f.includes('field.fixed'))).toEqual([]);
  });
});

describe('a chip that nobody knows', () => {
  it('when its name is near a known one then that is offered', () => {
    expect(all(planText({}).replace('28C16', '28C61'))).toEqual([
      expect.stringMatching(/^6:11 chip\.unknown: .*28C61.* .*28C64/),
    ]);
  });
});
