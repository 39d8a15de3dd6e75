// The page that describes the format: its example is a plan, and it names every key that the schemas know.
import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { publishedSums } from '../../src/ground/published-sums.js';
import { contentsKinds } from '../../src/plan/contents.js';
import { planJsonSchema } from '../../src/plan/json-schema.js';
import { addressOf, buildPlan, checkPlan, type Plan, planOfObject, readPlan, romOf } from '../../src/plan/plan.js';
import { fontNames } from '../../src/plan/segment-font.js';

const page = readFileSync('images/README.md', 'utf8');

const kinds = contentsKinds.map((k) => k.kind);
const blocks = (language: string): string[] =>
  [...page.matchAll(new RegExp(`^\`\`\`${language}\\n([\\s\\S]*?)^\`\`\``, 'gm'))].map((m) => m[1]!);
const yamlExamples = (): string[] => blocks('yaml');

/** The files that plans on the page name, by their names. */
const readFile = (name: string): Uint8Array =>
  new Uint8Array(Buffer.from({ 'dew-point.bin': '123456789' }[name]!, 'latin1'));

/** Every plan on the page, those that are modules last. */
async function examples(): Promise<Plan[]> {
  const modules = blocks('js').map(async (text) => {
    const { default: value } = (await import(`data:text/javascript,${encodeURIComponent(text)}`)) as {
      default: unknown;
    };
    return planOfObject(value, 'README.md');
  });
  return [...yamlExamples().map((text) => readPlan(text, 'README.md', readFile)), ...(await Promise.all(modules))];
}

/** Keys of every object in a JSON Schema. */
function keysIn(schema: unknown, found = new Set<string>()): Set<string> {
  if (typeof schema !== 'object' || schema === null) return found;
  const { properties } = schema as { properties?: Record<string, unknown> };
  for (const key of Object.keys(properties ?? {})) found.add(key);
  for (const inner of Object.values(schema)) keysIn(inner, found);
  return found;
}

describe('the page about the format', () => {
  it('when its examples are read then each is a plan without findings, and there is one of every kind', async () => {
    const plans = await examples();
    for (const plan of plans) expect(checkPlan(plan), plan.name).toEqual([]);
    const shown = [...page.matchAll(/kind: '?([a-z-]+)/g)].map((m) => m[1]);
    expect(kinds.filter((kind) => !shown.includes(kind))).toEqual([]);
    expect(plans.map((plan) => plan.name)).toContain('two-digits');
  });

  it('when its examples are built then the bytes are what the page says', async () => {
    const plans = await examples();
    const at = (name: string, rom: string, ...settings: string[]): number => {
      const plan = plans.find((p) => p.name === name)!;
      const [address] = addressOf(plan, romOf(plan, rom), settings);
      return buildPlan(plan).find((b) => b.name === rom)!.image.bytes[address!]!;
    };
    // Pins that carry nothing hold 1; a stroke turns a pin over.
    expect(at('fog-signal', 'mast', 'fog=3', 'dusk=0')).toBe(0b1011_1110);
    expect(at('fog-signal', 'mast', 'fog=0', 'dusk=0')).toBe(0b1111_1100);
    // The source on D0 and D2, code 2 for the gauge.
    expect(at('rain-gauge', 'gauge', 'order=1', 'step=1', 'full=0')).toBe(0b1110_1100);
    expect(at('rain-gauge', 'gauge', 'order=1', 'step=2', 'full=1')).toBe(0b1101_0000);
    expect(at('rain-gauge', 'gauge', 'order=1', 'step=2', 'full=0')).toBe(0b1100_0000);
    // An unused opcode rests: its first step of its own restarts.
    expect(at('rain-gauge', 'gauge', 'order=3', 'step=1', 'full=0')).toBe(0b1100_0000);
    expect(at('hatch', 'drive', 'row=1')).toBe(0b1111_0101);
    expect(at('hatch', 'target', 'row=1')).toBe(0b1111_0001);
    expect(at('hatch', 'target', 'row=4')).toBe(0b1111_0000);
    expect(at('barometer-trend', 'trend', 'now=9', 'before=4')).toBe(0b1111_1111);
    expect(at('barometer-trend', 'trend', 'now=4', 'before=9')).toBe(0b1111_1100);
    // "1" lights b and c; D7 carries nothing.
    expect(at('cups', 'cups', 'speed=1', 'half=digit')).toBe(0b1000_0110);
    expect(at('cups', 'cups', 'speed=12', 'half=lamps') & 0b0100_0001).toBe(0b0100_0000);
  });

  it('when its files, texts and sums are placed then each chip has its byte of every word', async () => {
    const built = buildPlan((await examples()).find((p) => p.name === 'dew-point')!);
    const [high, low] = built.map(({ image }) => [...image.bytes.subarray(0, 0x400)]);
    const words = high!.flatMap((byte, word) => [byte, low![word]!]);
    const wanted = [
      ...Buffer.from('123456789', 'latin1'),
      ...new Array<number>(0x7d7).fill(0),
      ...Buffer.from('dew point 3'),
    ];
    expect(words.slice(0, 0x7eb)).toEqual(wanted);
    // CRC-16/XMODEM, worked out here by division, bit after bit.
    let rest = 0;
    for (const byte of words.slice(0, 0x7fe))
      for (let bit = 7; bit >= 0; bit--)
        rest = (rest >> 15) ^ ((byte >> bit) & 1) ? ((rest << 1) & 0xffff) ^ 0x1021 : (rest << 1) & 0xffff;
    expect(words.slice(0x7fe)).toEqual([rest >> 8, rest & 0xff]);
  });

  it('when the sums are listed then their parameters are those of the program', () => {
    const rows = [...page.matchAll(/^\| `((?:sum|crc)-[^`]+)` \| (.*) \|$/gm)].map(([, name, cells]) => [
      name,
      cells!.split(/\s*\|\s*/).map((c) => c.trim()),
    ]);
    const hex = (value: number, width: number): string =>
      value
        .toString(16)
        .toUpperCase()
        .padStart(width / 4, '0');
    const known = Object.entries(publishedSums).map(([name, row]) => {
      const { width, check } = row;
      const crc =
        'poly' in row
          ? [hex(row.poly, width), hex(row.init, width), row.reflected ? 'yes' : 'no', hex(row.xorout, width)]
          : ['', '', '', ''];
      return [name, [...crc, hex(check, width)]];
    });
    expect(rows).toEqual(known);
  });

  it('when the first line of a program is indented more than the next then it is no plan, as the page says', () => {
    const hatch = yamlExamples().find((text) => text.startsWith('plan: hatch'))!;
    const deeper = hatch.replace('    begin:', '      begin:');
    expect(deeper).not.toBe(hatch);
    expect(() => readPlan(deeper, 'README.md')).toThrow(/README\.md:1[5-9]:\d+/);
  });

  it.each(['rest', 'idle', 'restart', 'undefined'])('when unused opcodes are %s then it is taken', (word) => {
    const gauge = yamlExamples().find((text) => text.startsWith('plan: rain-gauge'))!;
    expect(() => readPlan(gauge.replace('opcodes: rest', `opcodes: ${word}`), 'README.md')).not.toThrow();
    expect(() => readPlan(gauge.replace('opcodes: rest', 'opcodes: nothing'), 'README.md')).toThrow(/"nothing"/);
  });

  it('when the schemas know a key, a kind or a font then the page names it', () => {
    const words = [...keysIn(planJsonSchema()), ...kinds, ...fontNames];
    expect(words.length).toBeGreaterThan(40);
    expect(words.filter((w) => !new RegExp(`\\b${w}\\b`).test(page))).toEqual([]);
  });
});
