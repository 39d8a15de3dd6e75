// Plans as a whole: sets of ROMs, banks, tied pins, fill, looking at addresses both ways.

import { readFileSync } from 'node:fs';
import { beforeEach, describe, expect, it } from 'vitest';
import { ToolError } from '../../src/ground/errors.js';
import type { Image } from '../../src/image/image.js';
import { meaningOf } from '../../src/plan/look.js';
import {
  addressOf,
  buildPlan,
  checkPlan,
  describeDifference,
  inspectPlanObject,
  listPlan,
  lookAt,
  manifestOf,
  type Plan,
  pinListYaml,
  planOfObject,
  type Rom,
  readPlan,
  romOf,
  sayLooks,
} from '../../src/plan/plan.js';
import { drawDisplay } from './planted.js';

type Setting = Record<string, number>;

// Made anew for each test: a plan that is compiled while this file is loaded is out of a mutation tester's reach.
let display: Plan;
beforeEach(() => {
  display = readPlan(readFileSync('tests/support/tide-gauge.yaml', 'utf8'), 'tide-gauge.yaml');
});

const code = (act: () => unknown): string => {
  try {
    act();
  } catch (error) {
    if (error instanceof ToolError) return `${error.code}: ${error.message} ${error.note}`;
    throw error;
  }
  return '';
};

/** A 12-bit word over two chips, low byte first. */
const wide = planOfObject(
  {
    plan: 'wide',
    fields: { n: 6, half: 1 },
    contents: { kind: 'function', outputs: { word: 12 }, at: ({ n, half }: Setting) => (n! * 64 + half! * 7) & 0xfff },
    roms: {
      low: {
        chip: '28C16',
        address: { n: 'A5..A0', half: 'A6', high: 'A7', low: 'A8..A10' },
        data: { 'word.0..7': 'D0..D7' },
      },
      high: {
        chip: '28C16',
        address: { half: 'A0', n: 'A1..A6', unused: 'A7', low: 'A8..A10' },
        data: { 'word.8..11': '/D3 /D2 /D1 /D0', unused: 'D4..D7' },
      },
    },
  },
  'wide.js',
);

/** A digit whose contents a second field chooses. */
const bankedRom = {
  chip: '28C16',
  address: { n: 'A0..A3', bank: 'A4', low: 'A5..A10' },
  data: { a: 'D0', b: 'D1', c: 'D2', d: 'D3', e: 'D4', f: 'D5', g: 'D6', point: 'D7' },
};

describe('sets of ROMs', () => {
  const [low, high] = buildPlan(wide).map((b) => b.image);
  const at = (n: number, half: number): number => {
    const flipped = [...n.toString(2).padStart(6, '0')].reverse().join('');
    const lowByte = low!.bytes[Number.parseInt(flipped, 2) | (half << 6) | 0x80]!;
    const highPins = high!.bytes[half | (n << 1)]!;
    const nibble = [3, 2, 1, 0].reduce((v, pin, bit) => v | ((((highPins >> pin) & 1) ^ 1) << bit), 0);
    return lowByte | (nibble << 8);
  };

  it('when a word is wider than a byte then each chip carries its bits, in its own order and polarity', () => {
    for (let n = 0; n < 64; n++) for (const half of [0, 1]) expect(at(n, half)).toBe((n * 64 + half * 7) & 0xfff);
  });

  it('when a pin is tied then cells behind its other level are not defined, when it is unused then both hold the same', () => {
    expect(low!.defined[0]).toBe(0);
    expect(low!.defined[0x80]).toBe(1);
    expect(low!.defined.reduce((a, b) => a + b)).toBe(128);
    expect(high!.defined.reduce((a, b) => a + b)).toBe(256);
    expect(high!.bytes.slice(0, 128)).toEqual(high!.bytes.slice(128, 256));
  });

  it('when data pins are unused then they hold what an erased cell holds', () => {
    expect(high!.bytes.slice(0, 256).every((b) => (b & 0xf0) === 0xf0)).toBe(true);
  });

  it('when one ROM of several is needed then its name has to be said', () => {
    expect(romOf(wide, 'high').name).toBe('high');
    expect(romOf(display).name).toBe('gauge');
    expect(code(() => romOf(wide))).toMatch(/plan\.which-rom: .*--rom: low, high/);
    expect(code(() => romOf(wide, 'middle'))).toMatch(/plan\.no-rom: .*no ROM named "middle"/);
  });

  it('when a field is fixed then each ROM holds its own part of one table', () => {
    const digits = planOfObject(
      {
        plan: 'static',
        fields: { value: 8, place: 2 },
        contents: { kind: 'decimal-display', value: 'value', place: 'place', places: 3 },
        roms: Object.fromEntries(
          ['hundreds', 'tens', 'units'].map((name, place) => [
            name,
            {
              chip: '28C16',
              fixed: { place },
              address: { value: 'A0..A7', low: 'A8..A10' },
              data: { a: 'D0', b: 'D1', c: 'D2', d: 'D3', e: 'D4', f: 'D5', g: 'D6', point: 'D7' },
            },
          ]),
        ),
      },
      'static.js',
    );
    // The rows for 1, 3 and 7 of the LS247 font.
    expect(buildPlan(digits).map((b) => b.image.bytes[137])).toEqual([0x06, 0x4f, 0x07]);
    // The hundreds need no bits 0 and 1, and the tens no bit 0; other chips of the set do.
    expect(checkPlan(digits)).toEqual([]);
  });
});

describe('banks', () => {
  const banked = planOfObject(
    {
      plan: 'banked',
      fields: { n: 4, bank: { bits: 1, names: { digit: 0, gray: 1 } } },
      contents: {
        kind: 'banks',
        select: 'bank',
        banks: [
          { value: 0, about: 'a digit', contents: { kind: 'decimal-display', value: 'n', radix: 16, font: 'hex' } },
          {
            value: 1,
            contents: { kind: 'function', reads: ['n'], outputs: { gray: 4 }, at: ({ n }: Setting) => n! ^ (n! >> 1) },
          },
        ],
      },
      roms: {
        one: {
          chip: '28C16',
          address: { n: 'A0..A3', bank: 'A4', low: 'A5..A10' },
          data: { a: 'D0', b: 'D1', c: 'D2', d: 'D3', e: 'D4', f: 'D5', g: 'D6', unused: 'D7', gray: 'D0..D3' },
        },
      },
    },
    'banked.js',
  );

  it('when the bank input changes then the other contents stand there', () => {
    const { bytes } = buildPlan(banked)[0]!.image;
    expect([...bytes.slice(0, 4)].map((b) => b & 0x7f)).toEqual([0x3f, 0x06, 0x5b, 0x4f]);
    expect([...bytes.slice(16, 32)].map((b) => b & 15)).toEqual([0, 1, 3, 2, 6, 7, 5, 4, 12, 13, 15, 14, 10, 11, 9, 8]);
  });

  it('when a bank is explained then its name comes first', () => {
    const rom = romOf(banked);
    expect(meaningOf(rom, 0x05)).toMatch(/^bank digit: n 5: the display reads "5"/);
    expect(meaningOf(rom, 0x15)).toBe('bank gray: n 5: gray 7');
    expect(describeDifference(rom, 0x15, 7, 3)).toBe('bank gray: n 5: gray is 3 and should be 7');
    expect(drawDisplay(rom, 0x05, buildPlan(banked)[0]!.image)?.text).toBe('5');
    expect(drawDisplay(rom, 0x15, buildPlan(banked)[0]!.image)).toBeNull();
  });

  it('when banks are listed then each stands under its name', () => {
    const rows = listPlan(banked);
    expect(rows[0]).toEqual({ level: 0, when: 'bank digit (a digit)', does: '' });
    expect(rows[1]).toEqual({ level: 1, when: 'n 0', does: '"0"' });
    expect(rows[17]?.when).toBe('bank gray');
  });

  it('when a bank has no contents then its bytes are reported as not defined', () => {
    const value = { ...banked, ...{} };
    expect(value.roms).toHaveLength(1);
    const half = inspectPlanObject(
      {
        plan: 'half',
        fields: { n: 4, bank: 1 },
        contents: {
          kind: 'banks',
          select: 'bank',
          banks: [{ value: 0, contents: { kind: 'decimal-display', value: 'n', radix: 16 } }],
        },
        roms: { one: bankedRom },
      },
      'half.js',
    );
    expect(half.findings.map((f) => f.code)).toContain('cell.undefined');
  });
});

describe('fill', () => {
  const filled = (fill: unknown) =>
    planOfObject(
      {
        plan: 'x',
        fields: { n: 2 },
        fill,
        contents: { kind: 'function', outputs: { y: 2 }, at: ({ n }: Setting) => (n === 3 ? undefined : n) },
        roms: { r: { chip: '28C16', address: { n: 'A0 A1', low: 'A2..A10' }, data: { y: 'D1 D0', unused: 'D2..D7' } } },
      },
      'x.js',
    );

  it('when undefined cells are left then the image does not define them', () => {
    const { bytes, defined } = buildPlan(filled('leave'))[0]!.image;
    expect([...defined.slice(0, 5)]).toEqual([1, 1, 1, 0, 0]);
    expect([...bytes.slice(0, 3)]).toEqual([0xfc, 0xfe, 0xfd]);
    expect(checkPlan(filled('leave'))[0]?.why).toMatch(/what the chip holds there already/);
  });

  it('when a fill byte is said then it stands in every undefined cell and on every unused pin', () => {
    const { bytes, defined } = buildPlan(filled(0))[0]!.image;
    expect(defined.every((d) => d === 1)).toBe(true);
    expect([...bytes.slice(0, 5)]).toEqual([0, 2, 1, 0, 0]);
    expect(checkPlan(filled(0))[0]?.why).toMatch(/0x00, as "fill" says/);
  });
});

describe('looking at an address', () => {
  let rom: Rom;
  let image: Image;
  beforeEach(() => {
    rom = romOf(display);
    image = buildPlan(display)[0]!.image;
  });

  it('when every setting is turned into an address then looking there gives the setting back', () => {
    const seen = new Set<number>();
    for (const address of addressOf(display, rom, [])) {
      const { fields } = lookAt(display, rom, address);
      const settings = fields.map((f) => `${f.name}=${f.value}`);
      if (address % 16 === 0) expect(addressOf(display, rom, settings)).toEqual([address]);
      seen.add(address);
    }
    expect(seen.size).toBe(2048);
  });

  it('when all 128 levels are drawn raw and signed then the display reads as the language prints them', () => {
    for (let n = 0; n < 128; n++) {
      for (const zero of ['chart', 'mean']) {
        const [address] = addressOf(display, rom, [`level=${n}`, `zero=${zero}`, 'marks=0', 'place=0']);
        const value = zero === 'mean' ? Number(BigInt.asIntN(7, BigInt(n))) : n;
        expect(drawDisplay(rom, address!, image)?.text).toBe(String(value).padStart(4));
      }
    }
  });

  it('when -64 is drawn then a person sees it', () => {
    const [address] = addressOf(display, rom, ['level=-64', 'zero=mean', 'marks=0']);
    expect(drawDisplay(rom, address!, image)?.drawing).toBe(
      ['           _', '      _   |_   |_|', '          |_|    |'].join('\n'),
    );
  });

  it('when a look is said then address, fields, pins, byte and digits stand there', () => {
    const [address] = addressOf(display, rom, ['level=37', 'zero=chart', 'marks=0', 'place=2']);
    const text = sayLooks(lookAt(display, rom, address!));
    for (const words of [
      'gauge (28C16)',
      'level 37 (0x25), place 2, zero chart, marks 0',
      'shows "3" (abcdg)',
      'A3=1 level.0',
      'D0=1 b',
      '_|',
    ]) {
      expect(text).toContain(words);
    }
  });

  it('when a byte differs then digit, reading and segments are said, and both are drawn', () => {
    const [address] = addressOf(display, rom, ['level=17', 'zero=chart', 'marks=0', 'place=2']);
    const wanted = image.bytes[address!]!;
    const text = describeDifference(rom, address!, wanted, wanted ^ 0x08);
    expect(text).toContain(
      'the display should read "  17"; place 2 shows "7" (abc), not "1": a lit and should be dark',
    );
    expect(text.split('\n')).toHaveLength(5);
  });

  it('when a setting or an address does not exist then what would be right is said', () => {
    expect(code(() => addressOf(display, rom, ['level=128']))).toMatch(/plan\.setting: .*0 to 127/);
    expect(code(() => addressOf(display, rom, ['level=-65']))).toMatch(/plan\.setting/);
    expect(code(() => addressOf(display, rom, ['zero=charm']))).toMatch(/chart, mean/);
    expect(code(() => addressOf(display, rom, ['leval=1']))).toMatch(/Did you mean "level"/);
    expect(code(() => addressOf(display, rom, ['level']))).toMatch(/field=value/);
    expect(code(() => lookAt(display, rom, 2048))).toMatch(/plan\.address: .*0x7FF/);
    expect(code(() => lookAt(display, rom, -1))).toMatch(/plan\.address/);
  });

  it('when a number is below 0 then it is taken only where the contents take its field as signed', () => {
    const signed = addressOf(display, rom, ['level=-12', 'zero=mean']);
    expect(signed).toHaveLength(8);
    // With the switch left open only its signed side can show it.
    expect(addressOf(display, rom, ['level=-12'])).toEqual(signed);
    expect(code(() => addressOf(display, rom, ['level=-12', 'zero=chart']))).toMatch(
      /"level=-12": level is not signed there\. .*0 to 127, or from -64 with zero mean/,
    );
    expect(code(() => addressOf(display, rom, ['place=-1']))).toMatch(
      /"-1" is no value of place\. .*0 to 3, and not signed/,
    );
    expect(code(() => addressOf(display, rom, ['level=-65', 'zero=mean']))).toMatch(/0 to 127, or from -64/);
    expect(code(() => addressOf(wide, romOf(wide, 'low'), ['n=-1']))).toMatch(/0 to 63, and not signed/);
  });

  it('when a field is given twice then it is refused, not taken as the last', () => {
    for (const settings of [
      ['level=1', 'level=2'],
      ['level=1', 'zero=chart', ' level = 1'],
    ])
      expect(code(() => addressOf(display, rom, settings))).toMatch(/"level" is given twice\. .*level=1\.\.2/);
  });

  it('when a bank is signed then a number below 0 stands in that bank', () => {
    const digit = { kind: 'decimal-display', value: 'n', overflow: 'dashes' };
    const banked = planOfObject(
      {
        plan: 'banked',
        fields: { n: 4, bank: { bits: 1, names: { plain: 0, signed: 1 } } },
        contents: {
          kind: 'banks',
          select: 'bank',
          banks: [
            { value: 0, contents: digit },
            { value: 1, contents: { ...digit, signed: true } },
          ],
        },
        roms: { one: bankedRom },
      },
      'banked.js',
    );
    expect(addressOf(banked, romOf(banked), ['n=-1'])).toEqual([0x1f]);
    expect(code(() => addressOf(banked, romOf(banked), ['n=-1', 'bank=plain']))).toMatch(/from -8 with bank signed/);
  });

  it('when an address is behind a tied pin then it says so', () => {
    expect(meaningOf(romOf(wide, 'low'), 0)).toMatch(/never read/);
    expect(sayLooks(lookAt(wide, romOf(wide, 'low'), 0))).toMatch(/not defined/);
  });
});

describe('pin lists and manifests', () => {
  it('when pin lists are written out then the plan that holds them builds the same bytes', () => {
    const text = readFileSync('tests/support/tide-gauge.yaml', 'utf8');
    const rom = romOf(display);
    const rewritten = `${text.slice(0, text.indexOf('    address:'))}${pinListYaml(rom.address, rom.data)}\n`;
    expect(buildPlan(readPlan(rewritten, 'again.yaml'))).toEqual(buildPlan(display));
    expect(pinListYaml(romOf(wide, 'high').address, romOf(wide, 'high').data)).toContain('word.8: /D3');
  });

  it('when a manifest is made then its sums are those of the bytes in the file', () => {
    const name = 'three';
    const image = { name, bytes: Uint8Array.of(1, 2, 0xff, 7), defined: Uint8Array.of(1, 1, 1, 0) };
    // SHA-256 and CRC-32 of the bytes 01 02 FF FF, computed with sha256sum and python3 zlib.crc32.
    expect(manifestOf('p', [{ name, chip: '28C16', image }], (r) => `${r}.bin`).roms).toEqual([
      {
        name,
        chip: '28C16',
        file: 'three.bin',
        cells: 4,
        defined: 3,
        sha256: '1b6dd05c65b015573ced7de8b6bbd987291aa3b0b0a5a1fbd840a4cbcd5f61c1',
        crc32: '245A7EE8',
        sum8: '01',
        sum16: '0201',
      },
    ]);
  });
});
