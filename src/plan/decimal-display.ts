// Contents `decimal-display`: a binary number shown as digits on a seven-segment display, one digit at a time.
import * as v from 'valibot';
import { DecimalTable, displayOutputs } from './decimal-table.js';
import { aboutSchema, nameSchema, wholeNumber } from './schema-words.js';
import { fontNames, segmentFonts, segmentsOfLetters } from './segment-font.js';
import type { Compiled, ContentsKind, Fields, Finding } from './table.js';

const overflowWords = ['dashes', 'blank', 'low-digits'] as const;

const schema = v.strictObject({
  kind: v.literal('decimal-display'),
  about: aboutSchema,
  value: nameSchema,
  place: v.optional(nameSchema),
  order: v.optional(v.picklist(['left-to-right', 'right-to-left'], 'left-to-right or right-to-left'), 'left-to-right'),
  places: v.optional(wholeNumber(1, 16)),
  signed: v.optional(v.union([v.boolean(), nameSchema], 'true, false, or the name of the field that says so'), false),
  'leading-zeros': v.optional(v.picklist(['blank', 'show'], 'blank or show'), 'blank'),
  minus: v.optional(v.picklist(['floating', 'fixed'], 'floating or fixed'), 'floating'),
  decimals: v.optional(v.union([wholeNumber(0, 15), nameSchema], 'a number of digits behind the point, or a field'), 0),
  radix: v.optional(v.picklist([10, 16], '10 or 16'), 10),
  overflow: v.optional(
    v.union(
      [v.picklist(overflowWords), v.strictObject({ show: v.pipe(v.string(), v.maxLength(16)) })],
      'dashes, blank, low-digits, or { show: "OL" }',
    ),
  ),
  font: v.optional(v.picklist(fontNames, `one of ${fontNames.join(', ')}`), 'ls247'),
  glyphs: v.optional(
    v.record(
      v.pipe(v.string(), v.length(1, 'one character as the key of each glyph')),
      v.string('the lit segments as letters, e.g. "abc"; "" is dark'),
    ),
  ),
  common: v.optional(v.picklist(['cathode', 'anode'], 'cathode or anode'), 'cathode'),
});

export type DisplayContents = v.InferOutput<typeof schema>;
/** As it is written in a plan. */
export type DisplayInput = v.InferInput<typeof schema>;

/** Letters that can be shown, with their segments: the font, `-` and blank, and the builder's own glyphs over them. */
function glyphsOf(contents: DisplayContents, findings: Finding[]): Map<string, number> {
  const glyphs = new Map<string, number>([
    [' ', 0],
    ['-', segmentsOfLetters('g')!],
  ]);
  for (let digit = 0; digit < contents.radix; digit++) {
    glyphs.set(digit.toString(16).toUpperCase(), segmentFonts[contents.font][digit]!);
  }
  for (const [letter, segments] of Object.entries(contents.glyphs ?? {})) {
    const bits = segmentsOfLetters(segments);
    if (bits === null) {
      findings.push({
        severity: 'error',
        code: 'display.glyph',
        message: `The glyph "${letter}" has the segments "${segments}", which are not letters from a to g, each once.`,
        why: 'Segments are named a (top), b, c clockwise, d (bottom), e, f, and g (middle).',
        path: ['glyphs', letter],
      });
    } else glyphs.set(letter.toUpperCase(), bits);
  }
  return glyphs;
}

/** The fields that the display names, by their part in it; one that is not declared is a finding. */
function fieldsOf(contents: DisplayContents, fields: Fields, findings: Finding[]) {
  const named = {
    value: contents.value,
    place: contents.place,
    signed: typeof contents.signed === 'string' ? contents.signed : undefined,
    decimals: typeof contents.decimals === 'string' ? contents.decimals : undefined,
  };
  for (const [role, name] of Object.entries(named)) {
    if (name === undefined || fields.has(name)) continue;
    findings.push({
      severity: 'error',
      code: 'field.unknown',
      message: `There is no field "${name}".`,
      why: `Declare it under "fields", or name one of: ${[...fields.keys()].join(', ') || 'none declared'}.`,
      path: [role],
    });
  }
  return named;
}

/** What only shows once the fields' widths are known. */
function* widthFindings(contents: DisplayContents, fields: Fields): Generator<Finding> {
  const bits = (name: string | undefined): number => (name === undefined ? 0 : fields.get(name)!.bits);
  const tooWide = (message: string, why: string, role: string): Finding => ({
    severity: 'error',
    code: 'field.width',
    message,
    why,
    path: [role],
  });
  if (typeof contents.signed === 'string' && bits(contents.signed) !== 1) {
    yield tooWide(
      `The field "${contents.signed}" is ${bits(contents.signed)} bits wide.`,
      'Signed or not is one bit: 1 means signed.',
      'signed',
    );
  }
  const { places } = contents;
  if (places !== undefined && places > 2 ** bits(contents.place)) {
    yield tooWide(
      `${places} places are more than ${contents.place ? `the field "${contents.place}" can count` : 'one, and no field chooses the place'}.`,
      contents.place
        ? `Its ${bits(contents.place)} bits count ${2 ** bits(contents.place)} places.`
        : 'Name the scan field under "place".',
      'places',
    );
  }
  if (places === undefined && bits(contents.place) > 4) {
    yield tooWide(
      `The field "${contents.place}" counts more than 16 places.`,
      'Say how many there are under "places".',
      'place',
    );
  }
  const names = [contents.value, contents.place, contents.signed, contents.decimals].filter(
    (n) => typeof n === 'string',
  );
  if (new Set(names).size < names.length) {
    yield tooWide(
      'One field has two parts to play in this display.',
      'Value, place, signed and decimals are fields of their own.',
      'value',
    );
  }
}

/** What may be shown beside digits has to have glyphs. */
function* letterFindings(contents: DisplayContents, glyphs: ReadonlyMap<string, number>): Generator<Finding> {
  const { overflow } = contents;
  const text = typeof overflow === 'object' ? overflow.show.toUpperCase() : '';
  for (const letter of new Set(text)) {
    if (glyphs.has(letter)) continue;
    yield {
      severity: 'error',
      code: 'display.no-glyph',
      message: `There is no glyph for "${letter}", which shows on overflow.`,
      why: 'Give its segments under "glyphs", e.g. "L": def.',
      path: ['overflow', 'show'],
    };
  }
}

export const decimalDisplay: ContentsKind<DisplayContents> = {
  kind: 'decimal-display',
  schema,
  // How digits look says nothing about which numbers fit.
  forgiving: { leaveOut: ['about', 'font', 'order', 'leading-zeros', 'common'], standIns: { glyphs: '' } },
  outputsOf: () => displayOutputs,
  compile(contents: DisplayContents, fields: Fields): Compiled {
    const findings: Finding[] = [];
    const glyphs = glyphsOf(contents, findings);
    fieldsOf(contents, fields, findings);
    findings.push(...letterFindings(contents, glyphs));
    if (findings.some((f) => f.code === 'field.unknown')) return { table: null, findings };
    findings.push(...widthFindings(contents, fields));
    if (findings.some((f) => f.code === 'field.width')) return { table: null, findings };
    return { table: new DecimalTable(contents, fields, glyphs), findings };
  },
};
