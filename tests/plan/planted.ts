// Plans with mistakes planted in them: every mark says where a finding is expected, and disappears before reading.
import { ToolErrors } from '../../src/ground/errors.js';
import type { Image } from '../../src/image/image.js';
import {
  type DisplayReading,
  inspectPlan,
  type LocatedFinding,
  type Rom,
  readDisplay,
  readPlan,
  valuesAt,
} from '../../src/plan/plan.js';

/** A mark is two angle brackets with a code: `<<pin.twice>>A3` expects the finding `pin.twice` at the A. */
export function planted(marked: string): { text: string; expected: string[] } {
  const expected: string[] = [];
  const lines = marked.split('\n').map((line, i) => {
    let plain = line;
    for (let m = /<<([\w.-]+)>>/.exec(plain); m; m = /<<([\w.-]+)>>/.exec(plain)) {
      expected.push(`${i + 1}:${m.index + 1} ${m[1]}`);
      plain = plain.slice(0, m.index) + plain.slice(m.index + m[0].length);
    }
    return plain;
  });
  return { text: lines.join('\n'), expected: expected.sort() };
}

const said = (f: LocatedFinding): string => `${f.line}:${f.column} ${f.code}`;

/** What inspecting finds, as `line:column code`, and the findings themselves. */
export function inspected(text: string): { found: string[]; findings: readonly LocatedFinding[] } {
  const { findings } = inspectPlan(text, 'test.yaml');
  return { found: findings.map(said).sort(), findings };
}

/** What reading throws, one text an error; empty where it throws nothing. */
export function thrown(text: string): string[] {
  try {
    readPlan(text, 'test.yaml');
    return [];
  } catch (error) {
    if (!(error instanceof ToolErrors)) throw error;
    return error.errors.map((e) => `${e.message} ${e.note}`);
  }
}

/** A plan around fields, contents and pins, each with a working stand-in. */
export function planText(parts: {
  fields?: string;
  contents?: string;
  address?: string;
  data?: string;
  rest?: string;
}): string {
  return [
    'plan: test',
    parts.fields ?? 'fields: { number: 4 }',
    parts.contents ?? 'contents: { kind: decimal-display, value: number, overflow: dashes }',
    'roms:',
    '  one:',
    '    chip: 28C16',
    parts.address ?? '    address: { number: A0..A3, low: A4..A10 }',
    parts.data ?? '    data: { a: D0, b: D1, c: D2, d: D3, e: D4, f: D5, g: D6, unused: D7 }',
    parts.rest ?? '',
  ].join('\n');
}

/** The whole display at the setting of an address, out of any image of the ROM; null where it drives no display. */
export const drawDisplay = (rom: Rom, address: number, image: Image): DisplayReading | null =>
  readDisplay(rom, valuesAt(rom, address), (at) => image.bytes[at] ?? 0xff);
